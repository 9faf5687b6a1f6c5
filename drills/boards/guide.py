"""The manual: one Markdown file a chapter, in drills/guide/, read as it lies in the sources too."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path, PurePosixPath

from django.templatetags.static import static
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import slugify
from markdown_it import MarkdownIt
from markdown_it.token import Token

from drills.boards.guide_tables import put_in

FOLDER = Path(__file__).resolve().parent.parent / "guide"
PICTURES = "drills/guide"
# From so many parts on a chapter has a list of them at its head; ours.
LONG_FROM = 6
# In the order in which a service meets them.
CHAPTERS = (
    *("new-hire", "fto", "educator", "keeper", "workbook", "formulary-workbook"),
    *(
        "competency",
        "director",
        "dosing",
        "dosing-figures",
        "dosing-programs",
        "triage",
        "bringing",
    ),
    *("administrator", "operator"),
)


@dataclass(frozen=True, slots=True)
class Chapter:
    """One chapter: its word in the address, its title, what it is for, and its page.

    `contents` are the name and the words of each of its headings, where it is long and has no list
    of its own.
    """

    slug: str
    title: str
    first: str
    body: SafeString
    contents: tuple[tuple[str, str], ...] = ()


@cache
def chapters() -> tuple[Chapter, ...]:
    """Every chapter, read once."""
    return tuple(_read(slug) for slug in CHAPTERS)


def chapter_of(slug: str) -> Chapter | None:
    return next((each for each in chapters() if each.slug == slug), None)


def _read(slug: str) -> Chapter:
    """A file begins with its title and one paragraph that says what it is for."""
    text = put_in((FOLDER / f"{slug}.md").read_text(encoding="utf-8"))
    # HTML in the text stays text: the files are ours, and no page needs more than Markdown has.
    parser = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = parser.parse(text)
    title, first = [token.content for token in tokens if token.type == "inline"][:2]
    _lead_on(tokens)
    headings = tuple(_name_headings(tokens))
    body = parser.renderer.render(tokens[3:], parser.options, {})
    is_told = len(headings) < LONG_FROM or 'href="#' in body
    safe = mark_safe(body)  # noqa: S308  # rendered from our own file
    return Chapter(slug, title, first, safe, () if is_told else headings)


def _name_headings(tokens: Sequence[Token]) -> Iterator[tuple[str, str]]:
    """Give each heading the name by which a link of its own chapter leads to it; those of parts."""
    for opening, words in pairwise(tokens):
        if opening.type == "heading_open":
            opening.attrSet("id", slugify(words.content))
            if opening.tag == "h2":
                yield slugify(words.content), words.content


def _lead_on(tokens: Sequence[Token]) -> None:
    """Point links to other chapters at their pages, and pictures at where they are served."""
    for token in tokens:
        _lead_on(token.children or ())
        link = token.attrs.get("href")
        if isinstance(link, str) and link.endswith(".md"):
            token.attrs["href"] = reverse("boards:chapter", args=[PurePosixPath(link).stem])
        picture = token.attrs.get("src")
        if isinstance(picture, str):
            token.attrs["src"] = static(f"{PICTURES}/{PurePosixPath(picture).name}")
