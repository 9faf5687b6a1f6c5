"""Whether the tests of dosing math see a fault: one small fault at a time in solver and judge.

Run it as `python -m tests.bench.mutate`; with a number it takes that many faults at random (a
second number draws another sample), with a file's name (`judging`) those of one file. Each fault
is one change of an operator, a comparison, a number, a condition or a line, made in the memory of
a process of its own, where the fast tests are run until one fails. It prints the faults that no
test saw and ends with status 1 below what we hold ourselves to.
"""

import ast
import copy
import importlib.abc
import importlib.util
import io
import os
import resource
import sys
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from importlib.machinery import ModuleSpec
from pathlib import Path
from random import Random
from types import ModuleType

import hypothesis
import pytest

ROOT = Path(__file__).parents[2]
ENGINE = ROOT / "drills" / "engine"
PACKAGE = ENGINE / "dosing"
# What dosing reckons with, beside its own package.
BESIDE = tuple(
    ENGINE / f"{name}.py"
    for name in ("quantities", "figures", "devices", "concentrations", "lines")
)
LEAST = 0.85
TESTS = (
    "tests/engine/test_dosing_words.py",
    "tests/engine/test_dosing_published.py",
    "tests/formulary/test_door.py",
    "tests/formulary/test_door_judged.py",
    "tests/formulary/test_door_refused.py",
    "tests/engine/test_dosing_rounding.py",
    "tests/engine/test_dosing_edges.py",
    "tests/engine/test_dosing.py",
    "tests/engine/test_quantities.py",
    "tests/engine/test_dosing_promised.py",
    "tests/engine/test_dosing_refused_from.py",
    "tests/engine/test_dosing_each_slip.py",
    "tests/engine/test_dosing_fits.py",
    "tests/engine/test_dosing_told.py",
    "tests/engine/test_dosing_steps.py",
    "tests/engine/test_treatment.py",
    "tests/engine/test_treatment_whole.py",
    "tests/engine/test_treatment_counts.py",
    "tests/engine/test_treatment_always.py",
    "tests/engine/test_dosing_as_weighed.py",
    "tests/engine/test_dosing_dials.py",
    "tests/engine/test_dosing_entered.py",
    "tests/engine/test_dosing_fluid.py",
    "tests/engine/test_dosing_limits.py",
    "tests/engine/test_dosing_fills.py",
    "tests/engine/test_dosing_sites.py",
    "tests/engine/test_dosing_steps_right.py",
    "tests/engine/test_dosing_one_interval.py",
    "tests/engine/test_dosing_never_up.py",
    "tests/engine/test_dosing_oxygen.py",
    "tests/engine/test_dosing_refused.py",
    "tests/engine/test_dosing_right.py",
    "tests/engine/test_dosing_strengths_apart.py",
    "tests/engine/test_dosing_sums.py",
    "tests/engine/test_dosing_table.py",
    "tests/engine/test_dosing_written.py",
    "tests/engine/test_concentrations.py",
    "tests/engine/test_burns.py",
    "tests/formulary/test_door_words.py",
    "tests/engine/test_units_against_pint.py",
    "tests/engine/test_dosing_at_the_edge.py",
    "tests/engine/test_dosing_bounds.py",
    "tests/engine/test_dosing_one_line.py",
    "tests/engine/test_dosing_plain_causes.py",
    "tests/engine/test_dosing_righting.py",
    "tests/engine/test_dosing_first_setting.py",
    "tests/engine/test_dosing_every_figure.py",
    "tests/engine/test_treatment_limits.py",
    "tests/engine/test_treatment_totals.py",
)
# Without the site; and without what is of the commands alone.
_ALONE = (
    *("-x", "-q", "--noconftest", "--import-mode=importlib", "-c", os.devnull, f"--rootdir={ROOT}"),
    *("-pno:cacheprovider", "-pno:django", "-pno:cov", "-pno:xdist", "-ptests.bench.door_alone"),
    "-knot twice and not two_seconds and not order_of_bytes",
)
# Words, exports and the list of what there is are no arithmetic.
LEFT_OUT = ("__init__.py", "verdicts.py")
LONGEST_SECONDS = 240

_COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_WORKED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}


@dataclass(frozen=True)
class Fault:
    """One change: where it is, what it was and is, and which node of the file is changed how."""

    path: Path
    line: int
    words: str
    number: int
    make: int

    @property
    def source(self) -> str:
        """The whole file with it."""
        tree = ast.parse(self.path.read_text("utf-8"))
        _changed(list(ast.walk(tree))[self.number], self.make)
        return ast.unparse(tree)


def faults(path: Path) -> Iterator[Fault]:
    """Every fault of one file."""
    tree = ast.parse(path.read_text("utf-8"))
    declared = {id(node) for each in ast.walk(tree) for node in _decorations(each)}
    for number, original in enumerate(ast.walk(tree)):
        if not _is_reckoning(original) or id(original) in declared:
            continue
        for make in range(2):
            node = copy.deepcopy(original)
            was, now = ast.unparse(node), _changed(node, make)
            if now:
                line = getattr(original, "lineno", 0)
                yield Fault(path, line, f"{was}  ->  {now}", number, make)


def _decorations(node: ast.AST) -> Iterator[ast.AST]:
    """What stands above a class or a function: how it is kept, no arithmetic."""
    for decorator in getattr(node, "decorator_list", ()):
        yield from ast.walk(decorator)


def _is_reckoning(node: ast.AST) -> bool:
    return isinstance(
        node, ast.Compare | ast.BinOp | ast.BoolOp | ast.UnaryOp | ast.Constant | ast.If | ast.IfExp
    )


def _changed(node: ast.AST, make: int) -> str:
    """Change a node in one of two ways; the words of it, empty where there is no such way."""
    match node:
        case ast.Compare(ops=[op]) if make == 0:
            node.ops = [_COMPARED[type(op)]()]
        case ast.BinOp(op=op) if make == 0 and type(op) in _WORKED:
            node.op = _WORKED[type(op)]()
        case ast.BoolOp(op=op) if make == 0:
            node.op = ast.Or() if isinstance(op, ast.And) else ast.And()
        case ast.UnaryOp(op=ast.Not()) if make == 0:
            node.op = ast.UAdd()
        case ast.Constant(value=int() as value) if make == 0:
            node.value = not value if isinstance(value, bool) else value + 1
        case ast.If(test=test) | ast.IfExp(test=test):
            node.test = ast.Constant(make == 0)
            return f"{ast.unparse(test)} is {make == 0}"
        case _:
            return ""
    return ast.unparse(node)


class _Instead(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module with its fault."""

    def __init__(self, fault: Fault) -> None:
        self._name = ".".join(fault.path.relative_to(ROOT).with_suffix("").parts)
        self._fault = fault

    def find_spec(self, name: str, path: object, target: object = None) -> ModuleSpec | None:
        if name != self._name:
            return None
        return importlib.util.spec_from_loader(name, self, origin=str(self._fault.path))

    def exec_module(self, module: ModuleType) -> None:
        code = compile(self._fault.source, str(self._fault.path), "exec")
        exec(code, module.__dict__)  # noqa: S102 - our own source, with a fault


def _is_seen(fault: Fault | None) -> bool:
    """Whether a test fails with the fault, in a process of its own; without one, that none does."""
    child = os.fork()
    if not child:
        # What has no end is stopped, and seen: after time of its own, whatever else is running.
        resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_SECONDS, LONGEST_SECONDS))
        hypothesis.settings.register_profile(
            "faults", max_examples=10, derandomize=True, database=None, deadline=None
        )
        hypothesis.settings.load_profile("faults")
        if fault:
            sys.meta_path.insert(0, _Instead(fault))
        words = io.StringIO()
        code = 1
        try:
            with redirect_stdout(words), redirect_stderr(words):
                # File by file: most faults are seen in the first, before the rest is collected.
                code = int(any(pytest.main([*_ALONE, test]) for test in TESTS))
        finally:
            if not fault and code:
                sys.stderr.write(words.getvalue())
                sys.stderr.flush()
            os._exit(code)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status) != 0


def main(asked: str = "", seed: str = "6") -> int:
    """Print the faults that no test saw, and the share that one did."""
    files = sorted(each for each in PACKAGE.glob("*.py") if each.name not in LEFT_OUT)
    files += BESIDE
    made = [each for path in files for each in faults(path)]
    if asked.isdecimal():
        made = Random(int(seed)).sample(made, min(int(asked), len(made)))  # noqa: S311 - no secrets
    elif asked:
        made = [each for each in made if each.path.stem == asked]
    if _is_seen(None):
        sys.stdout.write("The tests fail without a fault.\n")
        return 1
    seen = 0
    for number, fault in enumerate(made, 1):
        is_seen = _is_seen(fault)
        seen += is_seen
        if not is_seen:
            where = f"{fault.path.relative_to(ROOT)}:{fault.line}"
            sys.stdout.write(f"not seen  {where}  {fault.words}\n")
        if not number % 20:
            sys.stdout.write(f"{number} of {len(made)}, {seen / number:.1%} seen\n")
        sys.stdout.flush()
    share = seen / len(made)
    sys.stdout.write(f"{seen} of {len(made)} faults seen, {share:.1%} ({LEAST:.0%} or more)\n")
    return 0 if share >= LEAST else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
