"""The files of a part: its sheet, its list and its drawing.

Each is written whole or not at all, and only over an earlier one of ours: beside a part file may
well lie a drawing or a list that somebody else made. Somebody may hold a print of the earlier one,
so that it is kept: what is made from measurements has a name of its own, and what is replaced by
something else stays beside it.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import NamedTuple

from holecalc import sizes
from holecalc.checks import Findings
from holecalc.part import Part, store
from holecalc.plan import Plan, plan
from holecalc.sheet import page

__all__ = ["FILES", "SheetError", "Written", "csv_text", "file_name", "file_text", "write"]

FILES = {"sheet": ".html", "list": ".csv", "drawing": ".dxf"}
"""What can be made of a part, and how the file's name ends."""

_COLUMNS = ("setup", "face", "operation", "cutter", "feature", "cut")
_WHEN = r"\$(?:TD\w+|\w+GUID)\n.*\n.*|\d+\.\d+\.\d+ @ \S+"
"""What of a drawing is another each time it is made, for its times and its numbers: a pattern."""
_MARKS = (page.MARK, ",".join(_COLUMNS), "holecalc drawing")
"""One of these stands near the beginning of every file of ours: sheet, list, drawing."""


class SheetError(OSError):
    """The file was not written; the message says why, and what would help."""


class Written(NamedTuple):
    """A file that was written.

    Parameters
    ----------
    path : pathlib.Path
        Where.
    before : pathlib.Path or None
        Where the one that was there before is kept; None where there was none, or the same.
    """

    path: Path
    before: Path | None

    def __str__(self) -> str:
        kept = "" if self.before is None else f"; the one before is kept as {self.before}"
        return f"{self.path}{kept}"


def file_name(what: str, part: Part, file: Path | str) -> Path:
    """Where a file of a part goes: beside the part file, that of the second part by its own name.

    Parameters
    ----------
    what : {"sheet", "list", "drawing"}
        Which.
    part : Part
        The part.
    file : pathlib.Path or str
        The part file.

    Returns
    -------
    pathlib.Path

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> text, bored = demo.text("bearing-plate"), "measured = {bore_diameter = 46.9}"
    >>> print(file_name("sheet", loads(text), "my plate.toml"))
    my plate.html
    >>> second = loads(text.replace("at = [120, 90]", f"at = [120, 90]{chr(10)}{bored}"))
    >>> print(file_name("sheet", second, "my plate.toml"))
    my plate, part 2.html
    """
    file = Path(file)
    second = ", part 2" if page.measured(part) else ""
    return file.with_name(f"{file.stem}{second}{FILES[what]}")


def file_text(
    what: str,
    part: Part,
    *,
    planned: Plan | None = None,
    findings: Findings | None = None,
    origin: page.Origin | None = None,
) -> str:
    """The sheet, the list or the drawing of a part, as the text of its file.

    Parameters
    ----------
    what : {"sheet", "list", "drawing"}
        Which.
    part : Part
        The part.
    planned : Plan, optional
        Its plan, where there is one already.
    findings : Findings, optional
        What its checks say, likewise.
    origin : Origin, optional
        What it was made from and when, for the sheet to say.

    Returns
    -------
    str
    """
    if what == "sheet":
        return page.html_text(part, planned=planned, findings=findings, origin=origin)
    if what == "list":
        return csv_text(part, planned=planned)
    # Loading what draws takes as long as all the rest of a sheet.
    from holecalc.export import dxf

    return dxf.text(part, planned=planned)


def csv_text(part: Part, *, planned: Plan | None = None) -> str:
    """The operations as CSV, one row for each position.

    Parameters
    ----------
    part : Part
        The part.
    planned : Plan, optional
        Its plan, where there is one already.

    Returns
    -------
    str
        With a heading; X and Y in the setup's coordinates and the part's unit.

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> print(csv_text(loads(demo.text("bearing-plate"))).splitlines()[1][:66])
    1,A,1,5 mm end mill,dowel holes,rough bore 7.620 mm,20.000,90.000,
    """
    with sizes.shown_in(part.unit):
        planned = plan(part) if planned is None else planned
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        places = (f"X [{part.unit}]", f"Y [{part.unit}]")
        writer.writerow((*_COLUMNS, *places, "settings", "note"))
        for each in planned.operations:
            settings = _cell("; ".join(f"{label} {text}" for label, text in each.settings))
            first = (each.setup.number, each.setup.face, each.number)
            names = tuple(map(_cell, (each.cutter.name, each.feature.name, each.cut.what)))
            for x, y in list(page.written(part, each.xy)) or [("", "")]:
                writer.writerow((*first, *names, x, y, settings, _cell(each.feature.note)))
    return out.getvalue()


def _cell(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def write(text: str, path: Path | str) -> Written:
    """Write a file of a part, whole or not at all.

    Parameters
    ----------
    text : str
        From :func:`file_text`.
    path : pathlib.Path or str
        Where. An earlier one of the kind that says something else is kept, under the name with
        ``.bak``; any other file is left alone.

    Returns
    -------
    Written
        Where it is, and the one before.

    Raises
    ------
    SheetError
        Something else has that name, or it cannot be written.
    """
    path = Path(path)
    if not store.writable(path.resolve().parent):
        raise SheetError(
            f"{path} was not written: that folder is not there or cannot be written in. Take "
            "another."
        )
    mark = next(each for each in _MARKS if each in text[: store.MARKED])
    before = store.backup_of(path.resolve())
    try:
        store.refuse_foreign(path, mark)
        keep = path.exists() and _numbers(_there(path)) != _numbers(text)
        if keep:
            store.refuse_foreign(before, mark)
        store.put(path, text, keep=keep)
    except store.SaveError as error:
        raise SheetError(str(error)) from None
    except OSError as error:
        raise SheetError(f"{path} was not written: {error.strerror or error}.") from error
    return Written(path, before if keep else None)


def _there(path: Path) -> str:
    return path.read_text(encoding="utf-8", errors="replace")


def _numbers(text: str) -> str:
    """What a file says, but for when it was made and from what."""
    return re.sub(_WHEN, "", re.sub(page.ORIGIN, "", text))
