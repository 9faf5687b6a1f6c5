"""Sizes of the code, read from its syntax trees."""

import ast
import re
import tokenize
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from io import StringIO
from pathlib import Path
from statistics import median, quantiles

ROOT = Path(__file__).resolve().parent.parent.parent
CODE = ("drills", "readiness")

# A comment that silences a tool and says no more.
BARE = re.compile(
    r"#\s*(?:noqa(?::\s*[A-Z]+\d+(?:\s*,\s*[A-Z]+\d+)*)?"
    r"|type:\s*ignore(?:\[[^\]]*\])?"
    r"|pragma:\s*no \w+)\s*$"
)

Function = ast.FunctionDef | ast.AsyncFunctionDef
BRANCHES = (
    ast.If,
    ast.IfExp,
    ast.For,
    ast.AsyncFor,
    ast.While,
    ast.ExceptHandler,
    ast.comprehension,
    ast.match_case,
)


@dataclass(frozen=True, slots=True)
class Measured:
    """A file of Python and what its tree says. `path` is written from the top of the house."""

    path: str
    text: str
    tree: ast.Module

    @property
    def lines(self) -> int:
        return len(self.text.splitlines())

    @property
    def functions(self) -> list[Function]:
        return [node for node in ast.walk(self.tree) if isinstance(node, Function)]

    def at(self, node: ast.stmt) -> str:
        return f"{self.path}:{node.lineno} {getattr(node, 'name', '')}".rstrip()


def measured(text: str, path: str = "drills/example.py") -> Measured:
    return Measured(path, text, ast.parse(text))


@cache
def files_of(*tops: str) -> tuple[Measured, ...]:
    """Every Python file under the given top folders, without the migrations Django wrote."""
    found = sorted(path for top in tops for path in (ROOT / top).rglob("*.py"))
    return tuple(
        measured(path.read_text(encoding="utf-8"), path.relative_to(ROOT).as_posix())
        for path in found
        if "migrations" not in path.parts
    )


@cache
def templates() -> tuple[tuple[str, str], ...]:
    """Path and text of every template, drawings among them."""
    found = sorted(path for path in (ROOT / "templates").rglob("*") if path.is_file())
    return tuple((p.relative_to(ROOT).as_posix(), p.read_text(encoding="utf-8")) for p in found)


def length(function: Function) -> int:
    return (function.end_lineno or function.lineno) - function.lineno + 1


def branches(function: Function) -> int:
    """1 and the ifs, cases, loops, excepts, boolean operators and comprehensions.

    A function inside the function is counted by itself.
    """
    count = 1
    for node in own_nodes(function):
        count += isinstance(node, BRANCHES)
        count += len(node.values) - 1 if isinstance(node, ast.BoolOp) else 0
    return count


def over(files: Iterable[Measured], measure: Callable[[Function], int], most: int) -> list[str]:
    """The functions for which the measure gives more than the most."""
    return [
        f"{file.at(function)}: {measure(function)}"
        for file in files
        for function in file.functions
        if measure(function) > most
    ]


def own_nodes(function: Function) -> Iterator[ast.AST]:
    """The nodes of a function's body, without those of functions inside it."""
    waiting: list[ast.AST] = list(function.body)
    while waiting:
        node = waiting.pop()
        yield node
        if not isinstance(node, Function):
            waiting.extend(ast.iter_child_nodes(node))


def hidden_imports(file: Measured) -> list[str]:
    """Imports inside a function, other than in a command or in `AppConfig.ready`."""
    if "/management/commands/" in file.path:
        return []
    return [
        file.at(function)
        for function in file.functions
        if not (file.path.endswith("apps.py") and function.name == "ready")
        and any(isinstance(node, ast.Import | ast.ImportFrom) for node in own_nodes(function))
    ]


def unannotated(file: Measured) -> list[str]:
    """Functions that leave the type of an argument or of what they return unsaid."""
    return [file.at(function) for function in file.functions if not _is_annotated(function)]


def _is_annotated(function: Function) -> bool:
    given = function.args
    named = [*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg]
    # mypy knows the type of these without being told; anything else needs a word.
    told = [each for each in named if each is not None and each.arg not in {"self", "cls"}]
    return function.returns is not None and all(each.annotation is not None for each in told)


def undocumented(file: Measured) -> list[str]:
    """The module, and its public classes and functions, without a sentence of their own."""
    public = [
        node
        for node in file.tree.body
        if isinstance(node, Function | ast.ClassDef) and not node.name.startswith("_")
    ]
    silent = [file.at(node) for node in public if ast.get_docstring(node) is None]
    return silent if ast.get_docstring(file.tree) else [file.path, *silent]


def bare_exemptions(file: Measured) -> list[str]:
    """Comments that silence a tool without saying why."""
    return [
        f"{file.path}:{token.start[0]}"
        for token in tokens(file)
        if token.type == tokenize.COMMENT and BARE.search(token.string)
    ]


def tokens(file: Measured) -> Iterator[tokenize.TokenInfo]:
    return tokenize.generate_tokens(StringIO(file.text).readline)


def comment_share(files: Iterable[Measured]) -> float:
    """Lines with a comment among lines with a comment or code, in per cent."""
    commented = written = 0
    for file in files:
        said = [token for token in tokens(file) if token.string.strip()]
        filled = {n for token in said for n in range(token.start[0], token.end[0] + 1)}
        commented += len({t.start[0] for t in said if t.type == tokenize.COMMENT})
        written += len(filled)
    return 100 * commented / written if written else 0.0


def spread(values: Iterable[int]) -> str:
    """Median, nine-tenths point and greatest of the values."""
    found = sorted(values)
    if len(found) < 2:
        return " / ".join(str(value) for value in found) or "none"
    return f"{median(found):g} / {quantiles(found, n=10, method='inclusive')[8]:g} / {found[-1]}"


@cache
def summary() -> tuple[str, ...]:
    """The sizes that a reader feels, against what we hold ourselves to."""
    code, tests = files_of(*CODE), files_of("tests")
    functions = [function for file in code for function in file.functions]
    code_lines, test_lines = (sum(file.lines for file in files) for files in (code, tests))
    pages = [len(text.splitlines()) for path, text in templates() if path.endswith(".html")]
    return (
        "Sizes: median / nine tenths / greatest (what we hold ourselves to)",
        f"  lines of a function  {spread(map(length, functions))}  (8 / 25 / 50)",
        f"  branches of one      {spread(map(branches, functions))}  (at most 8)",
        f"  lines of a file      {spread(file.lines for file in code)}  (120 / - / 400)",
        f"  lines of a template  {spread(pages)}  (25 / - / 150)",
        f"  comments {comment_share(code):.1f} % (4 to 8); "
        f"test lines to code lines {test_lines / max(code_lines, 1):.2f} (1 or more)",
    )
