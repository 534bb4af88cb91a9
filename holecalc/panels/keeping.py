"""Keeping what was worked out in a panel: as a feature of a part file, and taking it up again.

What the part can say is written as the keys of a ``[[feature]]``, with its cutters and its
fastener in the drawers, and is read back from there: the file is what counts, and whoever changes
it there finds it changed in the panel. What only the panel asks for stands as text under
``[feature.panel]``.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Self, TypeAlias

import ipywidgets as widgets

from holecalc import checks, sizes
from holecalc.checks import Finding, Weight
from holecalc.cutters import Drill
from holecalc.fasteners import FITS, clearance_drill
from holecalc.panels import places
from holecalc.panels.fields import Choice, Panel, SizeField, block
from holecalc.panels.places import PlaceError, as_value
from holecalc.part import Feature, Part, PartFile, begin_file, files_in, open_file
from holecalc.part.features import SAME

__all__ = [
    "RUN_AT",
    "FeaturePanel",
    "Kept",
    "Taken",
    "as_text",
    "as_value",
    "fit_and_hole",
    "run_at_fields",
]

Values: TypeAlias = dict[str, Any]
_WIDE = "calc(8.8em + 14em)"
"""Of fields that names are written in."""


class KeepingError(ValueError):
    """It was not kept or not taken up; the message says why, and what would help."""


@dataclass(frozen=True)
class Kept:
    """What a panel has to keep.

    Parameters
    ----------
    feature : mapping
        Its keys, as for :meth:`holecalc.part.PartFile.put`; without name, kind, face and place.
    drawer : mapping
        What it takes from the drawers, likewise.
    told : tuple of Finding
        What whoever keeps it has to know.
    face : str
        Where the panel has a choice of its own for it.
    both : bool
        Whether the other face has the like, as a feature of its own.
    material : str
        Of the plate, where the panel asks for it.
    hole : str
        The hole that something has to drill; None for none.
    """

    feature: Mapping[str, Any]
    drawer: Mapping[str, Mapping[str, Any]]
    told: tuple[Finding, ...] = ()
    face: str = ""
    both: bool = False
    material: str = ""
    hole: str | int | float | None = None


def fit_and_hole(thread: str, hole: str, unit: str) -> tuple[str, str]:
    """Which fit's clearance hole it is, with its drill; no fit's for another hole.

    Examples
    --------
    >>> fit_and_hole("1/4", "0.28125", "in"), fit_and_hole("M6", "7.1 mm", "mm")
    (('normal', '9/32 in'), ('', '7.1 mm'))
    """
    for fit in FITS:
        with suppress(ValueError):
            drill = clearance_drill(thread, fit)
            if abs(sizes.mm(sizes.length(hole, unit)) - sizes.mm(sizes.length(drill))) < 1e-6:
                return fit, drill
    return "", hole


@dataclass(frozen=True)
class Taken:
    """A feature of a part file, for a panel to take up.

    Parameters
    ----------
    file : PartFile
        The file.
    feature : Feature
        The feature, worked out.
    entry : mapping
        What the file says of it.
    """

    file: PartFile
    feature: Feature
    entry: Mapping[str, Any]

    @property
    def part(self) -> Part:
        """The part it belongs to."""
        return self.file.part

    @property
    def only_here(self) -> Mapping[str, Any]:
        """What only the panel asks for."""
        return dict(self.entry.get("panel", {}))

    def drawn(self, key: str) -> Mapping[str, Any]:
        """What the drawer says of the cutter or fastener that a key names; empty for none.

        Where the feature names no cutter, that of its last cut.
        """
        array = "fastener" if key in ("fastener", "washer") else "cutter"
        name = self.feature.given.get(key)
        if name is None and key == "cutter" and self.feature.made is not None:
            name = self.feature.made.cuts[-1].cutter.name
        return (self.file.entry(array, name) if name else None) or {}

    def text(self, key: str, otherwise: Any = "") -> str:
        """What stands in a field for a key of the feature.

        As the file has it; else what was given otherwise, by a callout or by `otherwise`.
        """
        if key in self.entry:
            return as_text(self.entry[key])
        given = self.feature.given.get(key)
        return as_text(otherwise if given is None else given)


def as_text(value: Any) -> str:
    """A value of a part file as what stands in a field.

    Examples
    --------
    >>> as_text(12.6), as_text("#7"), as_text(sizes.length("1/2 in")), as_text(None)
    ('12.6', '#7', '0.5 in', '')
    """
    if value is None:
        return ""
    if hasattr(value, "magnitude"):
        return sizes.exact(value).strip("'")
    return str(value)


RUN_AT = ("spindle_speed", "feed")
"""What is asked of a cutter for the sheet alone: nothing else in the panel depends on it."""


def run_at_fields(feed: str, hint: str) -> dict[str, SizeField]:
    """Fields for what a cutter is run at.

    Parameters
    ----------
    feed : str
        What its feed is called.
    hint : str
        Where it is measured.

    Returns
    -------
    dict of str to SizeField
    """
    return {
        "spindle_speed": SizeField(
            "spindle speed",
            "",
            "What the spindle is set to; empty: not on the sheet",
            reads="spindle speed",
            optional=True,
        ),
        "feed": SizeField(
            feed, "", f"{hint}; empty: not on the sheet", reads="feed", optional=True
        ),
    }


class FeaturePanel(Panel):
    """A panel whose result can be kept as a feature of a part, and taken up again.

    Besides what every panel has, it has two methods: ``_kept()``, which tells what there is to
    keep, and ``_take(taken)``, which fills in the fields.

    Attributes
    ----------
    kind : str
        Of the features it is for.
    keeping : Keeping
        The fields and buttons for that.
    """

    kind_of_feature = ""

    def _lay_out(self, asked: list[Any], told: list[Any]) -> None:
        self.keeping = Keeping(self)
        self._ran_at: set[str] = set()
        super()._lay_out([*asked, self.keeping.box], told)

    @classmethod
    def of(cls, file: str | Path, feature: str) -> Self:
        """Open on a feature of a part file, as it was kept.

        Parameters
        ----------
        file : str or pathlib.Path
            The part file.
        feature : str
            The feature's name.

        Returns
        -------
        Panel

        Raises
        ------
        holecalc.part.PartError
            The file cannot be used; everything wrong is listed, with lines.
        ValueError
            There is no such feature, or it is not one for this panel.
        OSError
            The file cannot be read.
        """
        # Each panel begins with something of its own where it is told nothing.
        panel = cls()  # type: ignore[call-arg]
        panel.keeping.take(str(file), feature)
        return panel

    def _kept(self) -> Kept:
        """What there is to keep; sizes as they were typed."""
        raise NotImplementedError

    def _take(self, taken: Taken) -> str:
        """Fill in the fields from a feature; what the panel cannot show of it is returned."""
        raise NotImplementedError

    def _keep_sizes(self) -> None:
        self.keeping.with_unit(self._unit)
        super()._keep_sizes()

    def _value(self, name: str) -> str | int | float | None:
        """What a field says, for the file being written; None where it says nothing."""
        field = self.fields[name]
        same = self.keeping.unit == self._unit
        return as_value(field.text if same else field.in_full(self._unit))

    def _called(self, name: str, what: str) -> str:
        """A name for the drawer, by the size in a field: 6 mm end mill."""
        size = self._value(name)
        return (
            f"{size} {self.keeping.unit} {what}"
            if isinstance(size, int | float)
            else (f"{size} {what}")
        )

    def _run_at(self) -> Values:
        """What the cutter is run at, for the drawer.

        An empty field takes away what it once said, and nothing that was told elsewhere.
        """
        told = {name: self._value(name) for name in RUN_AT}
        self._ran_at |= {name for name, value in told.items() if value is not None}
        told = {name: value for name, value in told.items() if name in self._ran_at}
        # A feed and a chip load fix each other.
        return {**told, "chip_load": None} if told.get("feed") is not None else told

    def _take_run_at(self, cutter: Mapping[str, Any]) -> None:
        self._ran_at = {name for name in RUN_AT if name in cutter}
        self._fill({name: as_text(cutter.get(name)) for name in RUN_AT})

    def _whole(self, name: str) -> str | int | float | None:
        """A count in a field, for the file."""
        return as_value(sizes.exact(self.fields[name].read(self._unit)))

    def _unless_0(self, name: str) -> str | int | float | None:
        """What a field says, for the file; None for nothing at all."""
        return self._value(name) if self.fields[name].read(self._unit).magnitude else None

    def _fill(self, texts: Mapping[str, str]) -> None:
        for name, text in texts.items():
            self.fields[name].text = text

    def _entries(self) -> list[Any]:
        """All that a person can change, in the order it was made."""
        ours = [*vars(self).values(), *self.fields.values()]
        return [
            getattr(each, "entry", each)
            for each in ours
            if hasattr(each, "entry") or isinstance(each, widgets.IntSlider)
        ]

    def fill_from(self, taken: Taken) -> str:
        """Fill in the fields from a feature, or leave all as it was where that makes nothing.

        Returns
        -------
        str
            What the panel cannot show of it.

        Raises
        ------
        ValueError
            Why not.
        """
        before = [(each, getattr(each, "options", None), each.value) for each in self._entries()]
        unit = self._unit
        try:
            with self._quietly():
                self.unit.value = self._unit = taken.part.unit
                self._fill({"plate_thickness": as_text(taken.file.plate["thickness"])})
                untold = self._take(taken)
                with sizes.shown_in(self._unit):
                    self._made()
        except ValueError:
            with self._quietly():
                for each, options, value in before:
                    if options is not None:
                        each.options = options
                    each.value = value
                self._unit = unit
            self._update()
            raise
        self._update()
        return untold


class Keeping:
    """The fields and buttons that keep what a panel holds, and take it up.

    Parameters
    ----------
    panel : FeaturePanel
        Whose.

    Attributes
    ----------
    file, feature, at, plate_size : SizeField
        The part file, the feature's name, where it stands; the plate's size for a new part.
    unit : str
        Of the file being written.
    part : Part or None
        That it held before; None for a new one.
    """

    def __init__(self, panel: FeaturePanel) -> None:
        self._panel = panel
        self.unit = panel._unit
        self.part: Part | None = None
        # What the file said of a feature when this panel last saw it.
        self._seen: dict[tuple[Path, str], Any] = {}
        self._asked: Any = None
        self.file = SizeField("part file", "", "Its name; one that is not there yet is begun")
        self.file.entry.placeholder = "my-part.toml"
        self.files = Choice("or choose", [("—", "")], "", "Part files of this folder")
        self.plate_size = SizeField(
            "plate size", "", "Along X and along Y, for a new part: 300 x 200"
        )
        self.feature = SizeField("feature", "", "What you call it: cover screws, bearing bore")
        self.at = SizeField(
            "stands at",
            "",
            "X and Y from the lower left corner, face A up: 40, 35; or several, 20, 90; 220, 90",
        )
        self.face = Choice("from face", ["A", "B"], "A", "The face it is cut from")
        self.features = Choice(
            "kept in it", [("—", "")], "", "Features of the file that this panel is for"
        )
        for field in (self.file, self.files, self.feature, self.at, self.features):
            field.entry.layout.width = _WIDE
            if isinstance(field, SizeField):
                field.is_a_name()
        self.keep_button = widgets.Button(description="keep in the part")
        self.take_button = widgets.Button(description="take up")
        self._said = widgets.HTML()
        buttons = [self.keep_button, self.take_button]
        for button in buttons:
            button.layout.width = "auto"
        self.box = block(
            "the part it belongs to",
            self.file,
            self.files,
            self.plate_size,
            self.feature,
            *([] if panel.kind_of_feature == "edge" else [self.at]),
            *([] if hasattr(panel, "face") else [self.face]),
            self.keep_button,
            self.features,
            self.take_button,
            self._said,
            asked_for="what is this?",
        )
        self.file.on_change(self.look)
        self.files.on_change(self._chosen)
        self.keep_button.on_click(lambda _button: self._do(self.keep, "not kept"))
        self.take_button.on_click(
            lambda _button: self._do(
                lambda: self.take(self.file.text, self.features.value), "not taken up"
            )
        )
        self.look()

    # --- what is there ---

    @property
    def path(self) -> Path:
        """Of the part file."""
        return _path(self.file.text)

    def look(self) -> None:
        """Look what part files and features there are."""
        names = [each.name for each in files_in(".")]
        self.files.entry.options = [("—", ""), *((name, name) for name in names)]
        self.files.value = self.file.text if self.file.text in names else ""
        named = bool(self.file.text.strip())
        there = named and self.path.is_file()
        self.plate_size.box.layout.display = None if named and not there else "none"
        found: list[str] = []
        # A file that cannot be used is told when it is to be used.
        with suppress(ValueError, OSError):
            if there:
                features = open_file(self.path).part.features
                found = [each.name for each in features if each.kind == self._kind]
        self.features.entry.options = [("—", ""), *((name, name) for name in found)]
        self.features.value = self.feature.text if self.feature.text in found else ""
        for widget in (self.features.box, self.take_button):
            widget.layout.display = None if found else "none"

    def with_unit(self, unit: str) -> None:
        """Write the unit behind bare numbers, so that they stay what they were."""
        with suppress(PlaceError):
            if self.at.text.strip():
                self.at.text = places.written(places.in_unit(places.read(self.at.text, unit), unit))
        with suppress(PlaceError):
            if self.plate_size.text.strip():
                size = places.in_unit(places.read_size(self.plate_size.text, unit), unit)
                self.plate_size.text = " x ".join(size)

    @property
    def _kind(self) -> str:
        return self._panel.kind_of_feature

    def _chosen(self) -> None:
        if self.files.value:
            self.file.text = self.files.value

    # --- keeping ---

    def keep(self) -> None:
        """Keep what the panel shows in the part file.

        Raises
        ------
        KeepingError, holecalc.part.PartError
            It cannot be kept; the file is as it was.
        OSError
            The file cannot be read or written.
        """
        panel, path, name = self._panel, self.path, self.feature.text.strip()
        try:
            with sizes.shown_in(panel._unit):
                panel._made()
        except ValueError as error:
            raise KeepingError(f"what is typed makes no result yet: {error}") from None
        if not name:
            raise KeepingError("it has no name. Type one for the feature: cover screws.")
        file = open_file(path) if path.exists() else None
        self.part = None if file is None else file.part
        self.unit = panel._unit if file is None else file.part.unit
        kept = panel._kept()
        told = list(kept.told)
        changed: tuple[str, ...] = ()
        names = {name: kept.face or self.face.value}
        if kept.both:
            name = re.sub(r", face [AB]$", "", name)
            names = {f"{name}, face {face}": face for face in "AB"}
        if file is None:
            told.append(Finding(Weight.NOTE, "This part is new.", "", "part file"))
        else:
            for each in names:
                self._refuse_other(file, path, each)
            told += self._plates(file.part)
        for each, face in names.items():
            feature = {
                "name": each,
                "kind": self._kind,
                "face": face,
                **kept.feature,
                **self._at(file, each),
            }
            if file is None:
                file, more = self._begun(path, feature, kept)
            else:
                feature |= self._hole_cutter(file, each, kept)
                more = file.put(_without_said(file, feature), kept.drawer)
            changed += more
            if file.part.feature(each).missing and kept.hole is not None:
                changed += self._drill(file, each, kept.hole)
        assert file is not None
        file.save()
        for each in names:
            self._remember(file, each)
        told += [Finding(Weight.NOTE, f"{each}.", "", "part file") for each in changed]
        self._tell_kept(file, list(names), told)
        self.look()

    def _drill(self, file: PartFile, name: str, hole: str | float) -> tuple[str, ...]:
        """Put a drill for the hole in the drawer, which has nothing for it."""
        size = f"{hole} {self.unit}" if isinstance(hole, int | float) else hole
        drill = {"name": f"{size} drill", "kind": "drill", "diameter": hole}
        told = file.put({"name": name}, {"hole_cutter": drill})
        return tuple(f"{each}, which had nothing for the hole" for each in told)

    def _begun(self, path: Path, feature: Values, kept: Kept) -> tuple[PartFile, tuple[str, ...]]:
        thickness = self._panel._value("plate_thickness")
        if thickness is None:
            raise KeepingError("a new part needs its plate: type the plate thickness.")
        if not self.plate_size.text.strip():
            raise KeepingError(
                f"{path.name} is not there yet, and a new part needs its plate: type its size "
                "along X and along Y, such as 300 x 200."
            )
        size = places.read_size(self.plate_size.text, self.unit)
        plate = {"size": size, "thickness": thickness}
        if kept.material:
            plate = {"material": kept.material, **plate}
        path.parent.mkdir(parents=True, exist_ok=True)
        return begin_file(path, unit=self.unit, plate=plate, feature=feature, drawer=kept.drawer)

    def _at(self, file: PartFile | None, name: str) -> Values:
        """Where it stands; nothing where the file has that and nothing was typed."""
        if self._kind == "edge":
            return {}
        if self.at.text.strip():
            here = self._panel._unit
            at = places.read(self.at.text, here)
            return {"at": at if here == self.unit else places.in_unit(at, here)}
        if file is not None and file.entry("feature", name):
            return {}
        raise KeepingError(
            "it stands nowhere yet. Type X and Y, such as “40, 35”, or several: “20, 90; 220, 90”."
        )

    def _hole_cutter(self, file: PartFile, name: str, kept: Kept) -> Values:
        """A cutter named for a hole that has changed is named no longer."""
        named = (file.entry("feature", name) or {}).get("hole_cutter")
        cutter = file.part.cutters.get(str(named))
        if kept.hole is None or cutter is None:
            return {}
        spare = sizes.mm(sizes.length(kept.hole, self.unit)) - sizes.mm(cutter.diameter)
        drill = isinstance(cutter.tool, Drill)
        return {"hole_cutter": None} if spare < -SAME or (drill and spare > SAME) else {}

    def _refuse_other(self, file: PartFile, path: Path, name: str) -> None:
        """Another feature of that name is not written over unasked."""
        entry = file.entry("feature", name)
        if entry is None:
            return
        there = file.part.feature(name)
        if there.kind != self._kind:
            raise KeepingError(
                f"{name} in {path.name} (line {there.line}) is a {there.kind}, and this is a "
                f"{self._kind}. Give it another name."
            )
        now, key = _said_of(file, there, entry), (path.resolve(), name)
        if self._seen.get(key) == now or self._asked == (key, now):
            return
        self._asked = key, now
        why = (
            f"{name} was changed in {path.name} since it was here"
            if key in self._seen
            else f"{path.name} has a feature {name} already"
        )
        raise KeepingError(
            f"{why}. Take it up to see it, give this another name, or press once more to put "
            "this in its place."
        )

    def _plates(self, part: Part) -> Iterable[Finding]:
        field = self._panel.fields["plate_thickness"]
        if field.blank:
            return
        here, there = field.read(self._panel._unit), part.plate.thickness
        if abs(sizes.mm(here) - sizes.mm(there)) > 1e-6:
            with sizes.shown_in(part.unit):
                yield Finding(
                    Weight.LOOK,
                    f"The plate is {sizes.show(here, fine=True)} thick here and "
                    f"{sizes.show(there, fine=True)} in the part.",
                    "The part's counts: take it up to see it there, or put the part right.",
                    "part file",
                )

    # --- taking up ---

    def take(self, file: str, name: str) -> None:
        """Fill the panel in from a feature of a part file.

        Raises
        ------
        KeepingError, holecalc.part.PartError
            It cannot be taken up; the panel is as it was.
        OSError
            The file cannot be read.
        """
        path = _path(file)
        if not name:
            raise KeepingError("no feature is chosen. Choose one beside 'kept in it'.")
        if not path.is_file():
            raise KeepingError(f"there is no {path.resolve()}. Look at its name and its folder.")
        opened = open_file(path)
        entry = opened.entry("feature", name)
        if entry is None:
            names = [each.name for each in opened.part.features if each.kind == self._kind]
            known = f"There is {'; '.join(names)}." if names else f"It has no {self._kind}."
            raise KeepingError(f"{path.name} has no feature {name!r}. {known}")
        feature = opened.part.feature(name)
        if feature.kind != self._kind:
            raise KeepingError(
                f"{name} in {path.name} (line {feature.line}) is a {feature.kind}, and this "
                f"panel is for a {self._kind}. Open it in the panel for that."
            )
        if feature.problem:
            raise KeepingError(
                f"{name} in {path.name} (line {feature.line}) cannot be made: {feature.problem}"
            )
        untold = self._panel.fill_from(Taken(opened, feature, entry))
        self.file.text, self.feature.text = file, name
        self.at.text = places.written(entry["at"]) if "at" in entry else ""
        self.face.value = feature.face
        self._remember(opened, name)
        self.look()
        self._say(
            f"✓ taken up: “{name}” in {path.resolve()}, as it was at {_clock()}.",
            [Finding(Weight.NOTE, untold, "", "part file")] * bool(untold),
        )

    # --- what happened ---

    def _remember(self, file: PartFile, name: str) -> None:
        there, entry = file.part.feature(name), file.entry("feature", name)
        self._seen[file.path.resolve(), name] = _said_of(file, there, entry)
        self._asked = None

    def _do(self, act: Callable[[], None], otherwise: str) -> None:
        self._said.value = ""
        try:
            act()
        except OSError as error:
            told = f"{error.filename}: {error.strerror}" if error.strerror else str(error)
            self._say(f"✗ {otherwise}: {told}", [])
        except ValueError as error:
            self._say(f"✗ {otherwise}: {error}", [])

    def _tell_kept(self, file: PartFile, names: list[str], told: list[Finding]) -> None:
        part, stands = file.part, []
        for name in names:
            feature = part.feature(name)
            with sizes.shown_in(part.unit):
                where = "" if feature.at is None else f", {feature.at}"
            stands.append(f"face {feature.face}{where}")
            if feature.missing:
                told.append(
                    Finding(Weight.STOP, f"{name}: {feature.missing}", "", "cutters at hand")
                )
        found = checks.part(part)
        heaviest = [
            f"{weight.mark} {number} {weight.word}"
            for weight in sorted(Weight, reverse=True)
            if (number := sum(each.weight is weight for each in found))
        ]
        kept = " and ".join(f"“{name}”" for name in names)
        self._say(
            f"✓ kept as {kept} in {file.path.resolve()}, at {_clock()}: {'; '.join(stands)}.\n"
            f"The whole part: {', '.join(heaviest) or 'nothing found'}.",
            told,
        )

    def _say(self, told: str, findings: list[Finding]) -> None:
        lines = "<br>".join(html.escape(line) for line in told.split("\n"))
        items = "".join(
            f"<li><b>{each.weight.mark} {each.weight.word}</b> {html.escape(each.what)} "
            f"<i>{html.escape(each.cure)}</i></li>"
            for each in checks.Findings(findings)
        )
        listed = f"<ul class='findings'>{items}</ul>" if items else ""
        # A path has no place of its own to be broken at.
        self._said.value = (
            "<div role='status' class='holecalc-why' style='overflow-wrap: anywhere'>"
            f"<b>{lines}</b>{listed}</div>"
        )


def _path(text: str) -> Path:
    """Of a part file; its name may be typed without the end."""
    if not text.strip():
        raise KeepingError("no part file is named. Type its name, or choose one.")
    path = Path(text.strip()).expanduser()
    return path if path.suffix else path.with_suffix(".toml")


def _clock() -> str:
    return f"{datetime.now():%H:%M}"


def _said_of(file: PartFile, feature: Feature, entry: Any) -> Any:
    """All that a file says of a feature: its own table, and what it takes from the drawers."""
    names = [value for value in feature.given.values() if isinstance(value, str)]
    drawn = [file.entry(array, each) for array in ("cutter", "fastener") for each in names]
    return entry, drawn


def _without_said(file: PartFile, feature: Values) -> Values:
    """Without what the file says already by another road, such as the drawing's callout."""
    entry = file.entry("feature", feature["name"])
    if entry is None or "callout" not in entry:
        return feature
    given = file.part.feature(feature["name"]).given

    def said(key: str, value: Any) -> bool:
        there = given.get(key)
        if key in entry or value is None or not hasattr(there, "magnitude"):
            return False
        here = sizes.mm(sizes.length(value, file.part.unit))
        return bool(abs(here - sizes.mm(there)) < 1e-6)

    return {key: value for key, value in feature.items() if not said(key, value)}
