"""Archives from outside, opened within limits: nothing in them is trusted, their header least."""

import stat
import struct
import zlib
from collections.abc import Mapping
from io import BytesIO
from pathlib import PurePosixPath
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from drills.engine.workbook.problems import Report, quote

MEGABYTE = 1_000_000
MAX_UPLOAD = 5 * MEGABYTE
MAX_UNPACKED = 50 * MEGABYTE
MAX_ENTRIES = 200
MAX_RATIO = 100
RATIO_FREE = MEGABYTE // 2  # text this small may shrink as well as it likes
CHUNK = 65_536
STAMP = (1980, 1, 1, 0, 0, 0)  # the first moment an archive can tell
ENTRY_MARK, ARCHIVE_MARK = b"PK\x01\x02", b"PK\x03\x04"
ARCHIVE_STARTS = (ARCHIVE_MARK, b"PK\x05\x06")  # the second of an archive with nothing in it
ARCHIVES = (
    *(".zip", ".xlsx", ".xlsm", ".docx", ".jar", ".gz", ".tgz", ".tar"),
    *(".bz2", ".xz", ".7z", ".rar", ".zst"),
)
MACROS = ("vbaproject", "/activex", "/macrosheets", "/dialogsheets")
LINKS = ("/externallinks", "/connections.xml", "/querytables")
EMBEDDED = "/embeddings"
DAMAGE = (
    *(BadZipFile, zlib.error, struct.error, EOFError),
    *(OSError, ValueError, RuntimeError, OverflowError),
)


def unpack(data: bytes, report: Report) -> Mapping[str, bytes] | None:
    """The files of an archive by name, in their order; None and a problem where it is refused."""
    before = report.count
    if not data.startswith(ARCHIVE_STARTS):  # one may hide behind a file of another kind
        report.refuse_file("something that is no archive, or a damaged one", report.form.file)
        return None
    try:
        with ZipFile(BytesIO(data)) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
            _refuse_size(data, entries, report)
            _refuse_names(entries, report)
            if report.count > before:
                return None
            return {entry.filename: _read(archive, entry, report) for entry in entries}
    except DAMAGE:
        report.refuse_file("something that is no archive, or a damaged one", report.form.file)
        return None


def pack(files: Mapping[str, bytes], *, method: int = ZIP_DEFLATED) -> bytes:
    """The files as an archive; the same files always give the same bytes."""
    target = BytesIO()
    with ZipFile(target, "w") as archive:
        for name, content in files.items():
            entry = ZipInfo(name, STAMP)
            entry.compress_type = method
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return target.getvalue()


def too_many_entries(data: bytes) -> bool:
    """Whether an archive lists more files than are read, told without opening it."""
    return data.count(ENTRY_MARK) > MAX_ENTRIES


def _refuse_size(data: bytes, entries: list[ZipInfo], report: Report) -> None:
    unpacked = sum(entry.file_size for entry in entries)
    if unpacked > MAX_UNPACKED:
        got = f"{unpacked // MEGABYTE} MB once unpacked"
        report.refuse_file(got, f"at most {MAX_UNPACKED // MEGABYTE} MB")
    elif unpacked > max(RATIO_FREE, MAX_RATIO * len(data)):
        report.refuse_file(
            f"an archive that grows {unpacked // len(data)} times when unpacked",
            f"at most {MAX_RATIO} times",
        )


def _refuse_names(entries: list[ZipInfo], report: Report) -> None:
    seen: set[str] = set()
    for entry in entries:
        name = "/" + entry.filename.lower()
        if got := _unsafe(entry, name):
            report.refuse_file(
                f"{got} ({quote(entry.filename)})", f"{report.form.file}, and no more than that"
            )
        elif name in seen:
            report.refuse_file(f"two files of one name ({quote(entry.filename)})", "each name once")
        seen.add(name)


def _unsafe(entry: ZipInfo, name: str) -> str:
    """What is wrong with an entry, judged by its name and marks; empty when nothing is."""
    path = PurePosixPath(name)
    checks = (
        ("//" in name or "\\" in name or ":" in name or ".." in path.parts, "an unsafe file name"),
        (any(part in name for part in MACROS), "a macro"),
        (any(part in name for part in LINKS), "a link to another file"),
        (path.suffix in ARCHIVES or EMBEDDED in name, "an archive inside the archive"),
        (entry.flag_bits & 1, "a file with a password"),
        (stat.S_ISLNK(entry.external_attr >> 16), "a link to another file"),
        (entry.compress_type not in (ZIP_STORED, ZIP_DEFLATED), "an unusual way of packing"),
    )
    return next((got for wrong, got in checks if wrong), "")


def _read(archive: ZipFile, entry: ZipInfo, report: Report) -> bytes:
    """The content of an entry: in pieces, so that one that is larger than told never unfolds."""
    pieces = bytearray()
    with archive.open(entry) as source:
        while piece := source.read(CHUNK):
            pieces += piece
    if pieces.startswith(ARCHIVE_MARK):
        report.refuse_file(
            f"an archive inside the archive ({quote(entry.filename)})", report.form.file
        )
    return bytes(pieces)
