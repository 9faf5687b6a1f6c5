"""Reads every template for what the content security policy would block, and for unescaped text."""

import re
import sys

from tests.house import measure

DJANGO = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
COMMENT = re.compile(r"\{#.*?#\}|\{%\s*comment\b.*?endcomment\s*%\}|<!--.*?-->", re.DOTALL)

MARKUP = {
    "a style attribute": re.compile(r"[\s\"'/]style\s*=", re.IGNORECASE),
    "a style element": re.compile(r"<style\b", re.IGNORECASE),
    "a script without src": re.compile(r"<script\b(?![^>]*\ssrc\s*=)", re.IGNORECASE),
    "a script with a body": re.compile(r"<script\b[^>]*>\s*[^\s<]", re.IGNORECASE),
    "an on... attribute": re.compile(r"[\s\"'/](?:hx-on[:\w-]*|on[a-z]+)\s*=", re.IGNORECASE),
    "a javascript: address": re.compile(r"javascript\s*:", re.IGNORECASE),
}
TAGS = {
    "|safe": re.compile(r"\|\s*safe(?:seq)?\b"),
    "autoescape off": re.compile(r"\{%\s*autoescape\s+off\b"),
}


def faults(path: str, text: str) -> list[str]:
    """One line for each fault, with the line it stands on; comments are left out."""
    told = COMMENT.sub(_blank, text)
    markup = DJANGO.sub(_blank, told)
    return [
        f"{path}:{searched.count(chr(10), 0, hit.start() + 1) + 1} has {name}"
        for searched, table in ((markup, MARKUP), (told, TAGS))
        for name, pattern in table.items()
        for hit in pattern.finditer(searched)
    ]


def _blank(hit: re.Match[str]) -> str:
    return re.sub(r"[^\n]", " ", hit[0])


def all_faults() -> list[str]:
    return [fault for path, text in measure.templates() for fault in faults(path, text)]


if __name__ == "__main__":
    found = all_faults()
    print("\n".join(found) or "Templates: no inline style or script, nothing unescaped.")
    sys.exit(1 if found else 0)
