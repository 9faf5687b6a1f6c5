"""What is told of a workbook beside its problems, by kind: each with the rules it is of."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from drills.engine.formulary_workbook import ReadBook
from drills.engine.formulary_workbook.rules import NOT_APPROVABLE
from drills.engine.workbook.problems import Problem, Remark
from drills.formulary.models import DoseRule


@dataclass(frozen=True, slots=True)
class Line:
    """One place of a workbook: the row, and what stands there."""

    row: int
    about: str


@dataclass(frozen=True, slots=True)
class Told:
    """One kind of remark and every place it is made of."""

    words: str
    lines: tuple[Line, ...]


def rule_of(parsed: ReadBook, problem: Problem) -> str:
    """The code of the rule that a problem is of; empty where it is of none, or none is readable."""
    return parsed.rules.get(problem.row, ("", ""))[0] if problem.sheet == "rules" else ""


def stopping(parsed: ReadBook, faults: Iterable[tuple[DoseRule, str]]) -> list[Told]:
    """What stops submitting the draft: rules that cannot be approved, by why; where no book could
    be read, as far as it was remarked."""
    if parsed.book is None:
        remarks = [each for each in parsed.remarks if each.text.endswith(NOT_APPROVABLE)]
        said = [(each.text.removesuffix(f", {NOT_APPROVABLE}"), each.row) for each in remarks]
    else:
        rows = {code: row for row, (code, _) in parsed.rules.items()}
        said = [(why, rows.get(rule.code, 0)) for rule, why in faults]
    return _by_kind(said, parsed)


def passing(parsed: ReadBook) -> list[Told]:
    """What stops nothing."""
    said = (each for each in parsed.remarks if not each.text.endswith(NOT_APPROVABLE))
    return [
        told
        for sheet, of_it in groupby(said, key=lambda each: each.sheet)
        for told in _by_kind(map(_placed, of_it), parsed if sheet == "rules" else None)
    ]


def _placed(of: Remark) -> tuple[str, int]:
    where = f"sheet {of.sheet}" if of.sheet else "the file"
    return f"{where}, {of.column}: {of.text}" if of.column else f"{where}, {of.text}", of.row


def _by_kind(said: Iterable[tuple[str, int]], parsed: ReadBook | None) -> list[Told]:
    """By their words; with code and medicine where they are of rules."""
    kinds: dict[str, list[Line]] = {}
    book = parsed.book if parsed else None
    names = {each.key: each.name for each in book.medicines} if book else {}
    for words, row in said:
        code, medicine = parsed.rules.get(row, ("", "")) if parsed else ("", "")
        kinds.setdefault(words, []).append(
            Line(row, f"{code} {names.get(medicine, medicine)}".strip())
        )
    return [Told(words, tuple(lines)) for words, lines in kinds.items()]
