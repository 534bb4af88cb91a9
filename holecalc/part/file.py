"""A part file that is open: its text as typed, the part that came of it, and where it is kept.

The text is what counts. It may be unusable for a while, as text is while it is typed; the part is
then the one it described last, and the faults say why. What is saved is the text, remarks and all.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import InlineTable

from holecalc.part import putting, store, writing
from holecalc.part.features import Feature
from holecalc.part.model import BYTE_ORDER_MARK, Part, parsed, read
from holecalc.part.reading import Fault, PartError, lines_of

__all__ = ["PartFile", "begin_file", "files_in", "load", "open_file"]

_NAMED = re.compile(r"^[ \t]*part[ \t]*=", re.MULTILINE)
_NUMBER = re.compile(r"-?(?:0|[1-9]\d*)(?:\.\d+)?")


class PartFile:
    """A part file that is open. Made by :func:`open_file`, or for a text that has no file yet.

    Parameters
    ----------
    path : pathlib.Path
        Where it is kept, or is to be.
    text : str
        As read.
    known : bytes, optional
        What the file holds; none for a text that has no file yet.

    Attributes
    ----------
    path : pathlib.Path
        Where it is kept, or is to be.
    text : str
        As it stands now.
    faults : tuple of Fault
        Why the text cannot be used as it stands; none where it can.
    saved_at : datetime.datetime or None
        When the file was last saved, by whomever; None for a text that has no file yet.

    Examples
    --------
    >>> import tempfile
    >>> from holecalc import demo, sizes
    >>> file = PartFile(Path(tempfile.mkdtemp()) / "mine.toml", demo.text("bearing-plate"))
    >>> file.edit(file.text.replace("thickness = 19.8 ", 'thickness = "19.6 nm" '))
    >>> print(str(file.faults[0]).split(". ")[0])
    line 11: the file, plate, thickness: '19.6 nm' is not a size: 'nm' is no unit of length
    >>> file.edit(file.text.replace("19.6 nm", "19.6 mm"))
    >>> file.save()
    >>> print(sizes.show(load(file.path).plate.thickness))
    19.60 mm
    """

    def __init__(self, path: Path, text: str, known: bytes | None = None) -> None:
        self.path = path
        self.saved_at = None if known is None else _when(path)
        self._known = known
        # Some editors begin a file with this mark, which is no part of the text and stays.
        self._mark = BYTE_ORDER_MARK if text.startswith(BYTE_ORDER_MARK) else ""
        text = text.removeprefix(BYTE_ORDER_MARK)
        # A browser's text area knows one kind of line end; the file keeps the kind it had.
        ends = text.count("\r\n")
        self._line_end = "\r\n" if ends and ends == text.count("\n") else "\n"
        self.text = text.replace("\r\n", "\n") if self._line_end == "\r\n" else text
        self._as_kept = self.text
        self._part: Part | None = None
        self.faults: tuple[Fault, ...] = ()
        self.edit(self.text)

    @property
    def part(self) -> Part:
        """The part, as the text described it when it could last be used.

        Raises
        ------
        PartError
            It never could.
        """
        if self._part is None:
            raise PartError(self.path.name, self.faults)
        return self._part

    @property
    def usable(self) -> bool:
        """Whether there is a part at all, of this text or of one before it."""
        return self._part is not None

    @property
    def changed(self) -> bool:
        """Whether the text is another than it was when it was read or last saved."""
        return self.text != self._as_kept

    @property
    def saved(self) -> bool:
        """Whether the file holds this text, as far as we know."""
        return self._known is not None and not self.changed

    def edit(self, text: str) -> None:
        """Put another text in place of the one there is, whether or not it can be used.

        Parameters
        ----------
        text : str
            The whole text.
        """
        self.text = text
        try:
            self._part = read(parsed(text, self.path.name), text, self.path.name)
        except PartError as error:
            self.faults = error.faults
        else:
            self.faults = ()

    def set(self, *where: str | int, to: Any) -> None:
        """Change one value.

        Parameters
        ----------
        *where : str or int
            Keys down to it, such as ``"feature", 2, "recess"``.
        to : str, number, bool, list or dict
            The new value.

        Raises
        ------
        PartError
            With it the part cannot be used, or it cannot be used as it is. It is as it was.
        KeyError, IndexError
            There is no such place.
        """
        document = parsed(self.text, self.path.name)
        place: Any = document
        for key in where[:-1]:
            place = place[key]
        place[where[-1]] = to
        self._take(tomlkit.dumps(document))

    @property
    def plate(self) -> dict[str, Any]:
        """What the file says of the plate, as it was typed."""
        return dict(self._document()["plate"])

    def entry(self, array: str, name: str) -> dict[str, Any] | None:
        """What the file says of a feature, a cutter or a fastener, as it was typed.

        Parameters
        ----------
        array : {"feature", "cutter", "fastener"}
            Among which.
        name : str
            Its name.

        Returns
        -------
        dict or None
            None where there is none of that name.
        """
        entries = self._document().get(array, [])
        return next((entry for entry in entries if entry.get("name") == name), None)

    def put(
        self, feature: Mapping[str, Any], drawer: Mapping[str, Mapping[str, Any]] | None = None
    ) -> tuple[str, ...]:
        """Put a feature in, or change the one of its name; the part is read again.

        Remarks, positions, keys that are not named and everything else stay as they stand. What
        a drawer holds is used where it says the same as what is wanted. Where it says otherwise,
        it is changed if no other feature takes it; else the new one gets a name of its own.

        Parameters
        ----------
        feature : mapping
            The keys of a ``[[feature]]``, its name among them; None takes a key out, and a
            mapping is a table below it, such as ``measured``.
        drawer : mapping of str to mapping, optional
            What it takes from the drawers, by the feature's key that names it: ``"cutter"``,
            ``"hole_cutter"``, ``"relief_cutter"``, ``"fastener"`` or ``"washer"``. Each has the
            keys of a ``[[cutter]]`` or a ``[[fastener]]``.

        Returns
        -------
        tuple of str
            What else was changed by it: in the drawers, and in other features.

        Raises
        ------
        PartError
            With it the part cannot be used, or the feature not be made. All is as it was.

        Examples
        --------
        >>> import tempfile
        >>> from holecalc import demo
        >>> path = Path(tempfile.mkdtemp()) / "mine.toml"
        >>> _ = path.write_text(demo.text("bearing-plate"), encoding="utf-8")
        >>> file = open_file(path)
        >>> file.put(
        ...     {"name": "vent", "kind": "bore", "diameter": "14 mm", "at": [40, 90]},
        ...     {"cutter": {"name": "8 mm", "kind": "end mill", "diameter": 8, "flutes": 2}},
        ... )
        ('8 mm is new in the drawer',)
        >>> print(file.part.feature("vent").made.main.cut["path_diameter"])
        6.0 mm
        """
        if self.faults:
            raise PartError(self.path.name, self.faults)
        others: dict[str, str] = {}
        before = self.part.features
        for each in before:
            if each.name != feature["name"]:
                others |= dict.fromkeys(_taken_by(each), each.name)
        try:
            text, told = putting.put(self.text, self.part.unit, feature, drawer or {}, others)
        except writing.LayoutError as error:
            raise PartError(self.path.name, [Fault(1, "its layout", str(error))]) from None
        part = read(parsed(text, self.path.name), text, self.path.name)
        _refuse_problem(part, feature["name"])
        self._take(text)
        return told + putting.recut(before, part.features, feature["name"])

    def _document(self) -> dict[str, Any]:
        return parsed(self.text, self.path.name).unwrap()

    def measure(self, feature: str, quantity: str, typed: str) -> None:
        """Write down what was measured on the first part, or take it out again.

        Parameters
        ----------
        feature : str
            The feature's name.
        quantity : str
            What was measured, as the file calls it.
        typed : str
            The size, as typed; empty to take it out.

        Raises
        ------
        PartError
            With it the part cannot be used, or it cannot be used as it is. It is as it was.
        KeyError
            There is no such feature.
        """
        if self.faults:
            raise PartError(self.path.name, self.faults)
        document = parsed(self.text, self.path.name).unwrap()
        names = [each["name"] for each in document["feature"]]
        if feature not in names:
            raise KeyError(feature)
        index = names.index(feature)
        measured: Mapping[str, Any] = document["feature"][index].get("measured", {})
        typed = typed.strip()
        if not typed and quantity not in measured:
            return
        raw = typed if _NUMBER.fullmatch(typed) else tomlkit.string(typed).as_string()
        if typed and not measured:
            line = f"measured = {{{quantity} = {raw}}}"
            text = _with_line(self.text, index, line)
            with suppress(PartError):
                # Where the line's end was mistaken, the line is not found again.
                found = parsed(text, self.path.name).unwrap()["feature"][index]
                if found.get("measured"):
                    self._take(text)
                    return
        self._take(self._remeasured(index, quantity, raw if typed else ""))

    def _remeasured(self, index: int, quantity: str, raw: str) -> str:
        document: Any = parsed(self.text, self.path.name)
        feature = document["feature"][index]
        measured = feature.setdefault("measured", tomlkit.inline_table())
        if raw:
            measured[quantity] = tomlkit.value(raw)
        else:
            del measured[quantity]
        if not measured:
            del feature["measured"]
        elif isinstance(measured, InlineTable):
            # Made anew, for the blanks; a remark behind it stays.
            fresh = tomlkit.inline_table()
            fresh.update(measured)
            if measured.trivia.comment:
                fresh.comment(measured.trivia.comment)
                fresh.trivia.comment_ws = measured.trivia.comment_ws
            feature["measured"] = fresh
        return tomlkit.dumps(document)

    def _take(self, text: str) -> None:
        """Put a text in place if it can be used."""
        self._part = read(parsed(text, self.path.name), text, self.path.name)
        self.text, self.faults = text, ()

    def save(self, path: Path | str | None = None) -> None:
        """Save the text, whole or not at all; the version before is kept with ``.bak``.

        A text that cannot be used is saved all the same: nothing that was typed is to be lost.

        Parameters
        ----------
        path : pathlib.Path or str, optional
            Another name, which must be free.

        Raises
        ------
        holecalc.part.SaveError
            It was not saved; the file is as it was.
        """
        target = self.path if path is None else Path(path)
        known = self._known if path is None else None
        kept = self._mark + self.text
        if self._line_end != "\n":
            kept = kept.replace("\n", self._line_end)
        self._known = store.save(target, kept, known=known)
        self._as_kept, self.saved_at = self.text, _when(target)
        if target != self.path:
            self.path = target
            # The part and its sheet bear the file's name.
            self.edit(self.text)


def _taken_by(feature: Feature) -> set[str]:
    """What of the drawers a feature takes, whether it names it or not."""
    keys = ("cutter", "hole_cutter", "finish_cutter", "relief_cutter", *putting.FASTENER_KEYS)
    taken = {feature.given[key] for key in keys if feature.given.get(key)}
    cuts = () if feature.made is None else feature.made.cuts
    return taken | {cut.cutter.name for cut in cuts}


def _refuse_problem(part: Part, name: str) -> None:
    made = part.feature(name)
    if made.problem:
        raise PartError(
            part.file, [Fault(made.line, f"feature {name!r}", f"cannot be made: {made.problem}")]
        )


def begin_file(
    path: Path | str,
    *,
    unit: str,
    plate: Mapping[str, Any],
    feature: Mapping[str, Any],
    drawer: Mapping[str, Mapping[str, Any]] | None = None,
) -> tuple[PartFile, tuple[str, ...]]:
    """Begin a part file with its first feature; nothing is on the disk before it is saved.

    Parameters
    ----------
    path : pathlib.Path or str
        Where it will be; the part is called what the file is called.
    unit : {"mm", "in"}
        Of its bare numbers.
    plate : mapping
        The keys of ``[plate]``.
    feature, drawer : mapping
        As for :meth:`PartFile.put`.

    Returns
    -------
    PartFile
        The file.
    tuple of str
        What was put in its drawers.

    Raises
    ------
    PartError
        The part cannot be used, or the feature not be made.

    Examples
    --------
    >>> file, told = begin_file(
    ...     "bracket.toml", unit="mm", plate={"size": [120, 80], "thickness": 12},
    ...     feature={"name": "hole", "kind": "hole", "diameter": 8, "at": [20, 20]},
    ...     drawer={"cutter": {"name": "8 mm drill", "kind": "drill", "diameter": 8}},
    ... )
    >>> print(told)
    ('8 mm drill is new in the drawer',)
    >>> print(file.part)
    bracket: plate, 120.00 mm × 80.00 mm × 12.00 mm
      face A: hole, hole, X 20.00 mm, Y 20.00 mm
    """
    path = Path(path)
    text = writing.put(tomlkit.dumps({"part": path.stem, "unit": unit}), (), {"plate": plate})
    text, told = putting.put(text, unit, feature, drawer or {}, {})
    file = PartFile(path, text)
    if file.faults:
        raise PartError(path.name, file.faults)
    _refuse_problem(file.part, feature["name"])
    return file, told


def _when(path: Path) -> datetime | None:
    try:
        return datetime.fromtimestamp(path.stat().st_mtime)
    except OSError:
        return None


def _with_line(text: str, index: int, line: str) -> str:
    """A text with a line more at the end of a feature's table, above what separates it."""
    lines, starts = text.split("\n"), lines_of(text)
    begin = starts.get(("feature", index), 0)
    headers = [
        at for at in starts.values() if at > begin and lines[at - 1].lstrip().startswith("[")
    ]
    end = min(headers, default=len(lines) + 1) - 1
    while end > begin and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return "\n".join([*lines[:end], line, *lines[end:]])


def open_file(path: Path | str, *, as_typed: bool = False) -> PartFile:
    """Open a part file, to read, change and save it.

    Parameters
    ----------
    path : pathlib.Path or str
        The file.
    as_typed : bool, default False
        Whether to open one that cannot be used as well, so that it can be put right.

    Returns
    -------
    PartFile

    Raises
    ------
    PartError
        It cannot be used; everything wrong is listed, with lines.
    OSError
        It cannot be read.
    """
    path = Path(path)
    content = store.read_bytes(path)
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise PartError(
            path.name, [Fault(line, "not text", "it is not UTF-8. Save it as UTF-8.")]
        ) from None
    file = PartFile(path, text, content)
    if file.faults and not as_typed:
        raise PartError(path.name, file.faults)
    return file


def load(path: Path | str) -> Part:
    """Read a part from its file; as :func:`open_file`, for those who change nothing."""
    return open_file(path).part


def files_in(*folders: Path | str) -> tuple[Path, ...]:
    """The part files of some folders, the one saved last first.

    A part file is a ``.toml`` with a line that begins ``part =``, whether or not it can be used.

    Parameters
    ----------
    *folders : pathlib.Path or str
        Where to look; not below them.
    """
    found = set()
    for folder in folders:
        with suppress(OSError):
            for path in Path(folder).glob("*.toml"):
                with suppress(OSError):
                    text = store.read_bytes(path).decode("utf-8", errors="replace")
                    if not path.name.startswith(".") and _NAMED.search(text):
                        found.add((-path.stat().st_mtime_ns, path))
    return tuple(path for _, path in sorted(found))
