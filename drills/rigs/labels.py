"""The labels of a rig: which places have one, what is printed on it, and what a scan tells."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

import segno

from drills.engine.labels import (
    ARM,
    CAPITAL_WIDTH,
    LEADING,
    LETTER_WIDTH,
    SMALLEST,
    TEXT_INSET,
    SheetFormat,
    Words,
    best_level,
    code_path,
    eased_from,
    fit_words,
    module_of,
    read_from,
    sheet_places,
)
from drills.engine.layout import Compartment, Layout, StockLine
from drills.engine.printing import printable
from drills.rigs.models import PlaceLabel, Rig
from drills.rigs.own import layout_on
from drills.rigs.photographed import controlled_items
from drills.rigs.reading import codes_by_place, layout_of
from drills.rigs.showing import PlaceContents, contents_of

TICKED = "ticked"
WHICH = {
    "doors": "Doors alone",
    "outer": "Shelves, drawers and bags too",
    "all": "Everything, pockets too",
    TICKED: "Those ticked below",
}
BASELINE = 0.92  # of a line's size, from its top to where letters stand


@dataclass(frozen=True, slots=True)
class Code:
    """One code: the dark modules as a path, how it is made, and the size of a module in mm."""

    path: str
    version: int
    level: str
    modules: int
    module: float

    @property
    def reach_cm(self) -> int:
        return int(read_from(self.module) / 10)

    @property
    def eased_cm(self) -> int:
        return int(eased_from(self.module, self.modules) / 10)

    @property
    def is_in_reach(self) -> bool:
        """Whether a phone reads it at arm's length."""
        return read_from(self.module) >= ARM

    @property
    def scale(self) -> str:
        """The size of a module as SVG takes it."""
        return f"{self.module:.4f}"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of words on a label; numbers as SVG takes them."""

    y: str
    size: str
    text: str
    kind: str


@dataclass(frozen=True, slots=True)
class Printed:
    """One label on its sheet."""

    at: str
    code: Code
    code_at: str
    words_x: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """A label as it stands on a rig; `code` and `name` are what the place had last."""

    label: PlaceLabel
    code: str
    name: str


@dataclass(frozen=True, slots=True)
class Labelled:
    """Labels of a rig by the code of their place, and those whose place it has no more."""

    here: dict[str, PlaceLabel]
    gone: tuple[Standing, ...]


def places_of(layout: Layout, which: str, ticked: Collection[str] = ()) -> tuple[str, ...]:
    """The codes of a choice, in the order of the workbook; none of a place behind a lock."""
    chosen: dict[str, Callable[[Compartment], bool]] = {
        "doors": lambda each: not each.inside,
        "outer": lambda each: not any(outer.is_bag for outer in layout.chain(each.code)[:-1]),
        "all": lambda each: True,
        TICKED: lambda each: each.code in ticked,
    }
    return tuple(each.code for each in printable(layout).compartments if chosen[which](each))


def shown_by_label(layout: Layout, key: str) -> Compartment | None:
    """The place that a label names: its own or, where that is behind a lock, the locked one."""
    here = next((each for each in layout.compartments if each.key == key), None)
    chain = layout.chain(here.code) if here else ()
    return next((each for each in chain if each.locked), here)


def labelled(rig: Rig, layout: Layout) -> Labelled:
    """The open labels of a rig, told apart by whether its layout still has the place."""
    codes = {each.key: each.code for each in layout.compartments}
    here, gone = {}, []
    rows = list(rig.labels.open().select_related("place", "made_by"))
    last = codes_by_place(rig.layout) if any(row.place.key not in codes for row in rows) else {}
    for row in rows:
        key = row.place.key
        if key in codes and row.place.layout_id == rig.layout_id:
            here[codes[key]] = row
        else:
            gone.append(Standing(row, last.get(key, key), _last_name(row)))
    return Labelled(here, tuple(gone))


def level_for(address: str, form: SheetFormat) -> str:
    """The error level for the codes of a format; addresses of one length have the same."""
    made = {level: segno.make_qr(address, error=level) for level in ("M", "Q")}
    return best_level(form.side, {level: len(code.matrix) for level, code in made.items()})


def code_of(address: str, form: SheetFormat, level: str) -> Code:
    """The code of an address as it is printed on a sheet of a format."""
    code = segno.make_qr(address, error=level)
    modules = len(code.matrix)
    path = code_path(code.matrix)
    return Code(path, int(code.version), level, modules, module_of(form.side, modules))


def printed(
    form: SheetFormat, labels: Sequence[tuple[Compartment, str]], *, unit: str, skip: int
) -> list[list[Printed]]:
    """Sheet by sheet the labels of places with the addresses they lead to."""
    level = level_for(labels[0][1], form) if labels else ""
    waiting = ((place, code_of(address, form, level)) for place, address in labels)
    return [
        [_printed(form, corner, *next(waiting), unit=unit) for corner in sheet]
        for sheet in sheet_places(form, len(labels), skip)
    ]


def told_by_label(rig: Rig, code: str) -> tuple[PlaceContents, ...]:
    """What belongs in a place on a rig, the place itself first.

    What is behind a lock is left out, and so is what the rig carries here instead of there, and
    whatever is controlled, locked or not. Places behind a lock are not told either.
    """
    layout = layout_of(rig.revision)
    locked = {line.key for line in layout.stock if layout.is_locked(line.compartment)}
    shown = printable(layout).by_code
    places = [each for each in contents_of(layout_on(rig), code).places if each.block.code in shown]
    told = {line.key for place in places if not place.is_locked for line in place.lines}
    controlled = controlled_items(rig.revision, told)
    return tuple(
        replace(place, lines=(), fixtures=())
        if place.is_locked
        else replace(place, lines=_open_lines(layout, place, locked, controlled))
        for place in places
    )


def _open_lines(
    layout: Layout, place: PlaceContents, locked: Collection[str], controlled: Collection[str]
) -> tuple[StockLine, ...]:
    """The lines of a place; of what is locked elsewhere as the layout has them, if at all."""
    said = {line.key: line for line in layout.lines_in.get(place.block.code, ())}
    lines = (said.get(line.key) if line.key in locked else line for line in place.lines)
    return tuple(line for line in lines if line is not None and line.key not in controlled)


def _printed(
    form: SheetFormat, corner: tuple[float, float], place: Compartment, code: Code, *, unit: str
) -> Printed:
    return Printed(
        at=_pair(*corner),
        code=code,
        code_at=_pair(form.words_at - form.side, (form.height - form.side) / 2),
        words_x=f"{form.words_at:.2f}",
        lines=label_lines(form, place, unit),
    )


def label_lines(form: SheetFormat, place: Compartment, unit: str) -> tuple[Line, ...]:
    """Code, name and rig under one another, in the middle of the label's height."""
    room = form.height - TEXT_INSET
    width = form.words_width
    small = max(SMALLEST, min(3.6, room * 0.09))
    code = fit_words(
        place.code, width=width, height=room * 0.4, largest=room * 0.26, letter=CAPITAL_WIDTH
    )
    name = fit_words(
        place.name, width=width, height=room * 0.4, largest=room * 0.14, letter=LETTER_WIDTH
    )
    rig = fit_words(
        f"Rig {unit}", width=width, height=small * LEADING, largest=small, letter=LETTER_WIDTH
    )
    blocks = (("code", code), ("name", name), ("unit", rig))
    y = (form.height - sum(words.height for _, words in blocks)) / 2
    lines: list[Line] = []
    for kind, words in blocks:
        lines += _set(kind, words, y)
        y += words.height
    return tuple(lines)


def _set(kind: str, words: Words, y: float) -> list[Line]:
    step = words.size * LEADING
    return [
        Line(f"{y + row * step + words.size * BASELINE:.2f}", f"{words.size:.2f}", text, kind)
        for row, text in enumerate(words.lines)
    ]


def _last_name(label: PlaceLabel) -> str:
    last = label.place.compartments.order_by("-revision__number").first()
    return last.name if last else ""


def _pair(x: float, y: float) -> str:
    return f"{x:.3f} {y:.3f}"
