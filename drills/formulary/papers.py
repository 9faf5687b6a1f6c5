"""The paper that a medical director signed, as it was sent in: a PDF or a picture, unchanged.

It is kept byte for byte, so that its checksum stays the checksum of the paper.
"""

from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import PurePath

from drills.formulary.models.texts import NAME_LENGTH

MOST_BYTES = 5_000_000
ACCEPTED = "a PDF, or a picture as JPEG or PNG, of at most 5 MB"
KINDS = ((b"%PDF-", "application/pdf"), (b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG", "image/png"))


class PaperRefusedError(ValueError):
    """A file that is no signed paper; the text says what it was and what is taken."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A signed paper: the name of its file, what it is, and its bytes."""

    name: str
    content_type: str
    content: bytes

    @property
    def sha256(self) -> str:
        return sha256(self.content).hexdigest()


def paper_of(name: str, content: bytes) -> Paper:
    """A file by its first bytes, whatever its name says; raises `PaperRefusedError`."""
    named = PurePath(name.replace("\\", "/")).name[-NAME_LENGTH:] or "signed"
    if len(content) > MOST_BYTES:
        size = f"{len(content) / 1_000_000:.1f} MB"
        raise PaperRefusedError(f"{named} has {size}; it takes {ACCEPTED}.")
    for start, content_type in KINDS:
        if content.startswith(start):
            return Paper(named, content_type, content)
    raise PaperRefusedError(f"{named} is neither; it takes {ACCEPTED}.")


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signed a formulary on paper and when, the document it names, and the paper itself."""

    name: str
    on: date
    document: str
    paper: Paper
