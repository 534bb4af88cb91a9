"""Published dimensions of fasteners, clearance holes and drills, as they stand in the standards.

Each table is a CSV file beside this module. Lengths are in millimetres, or in inches where the
column's name ends in ``_in``. The ``source`` column of every row holds an identifier that
``references/sources.toml`` in the project's repository explains: which standard, and how the
value was obtained.

Values come back as the text that is printed in the table, since a size such as ``17/64`` or
``#7`` is a name as much as a number; `holecalc.sizes` reads them.
"""

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

__all__ = ["TableError", "names", "rows"]


class TableError(KeyError):
    """A table was asked for that holecalc does not carry."""

    def __str__(self) -> str:
        # KeyError prints the repr of its argument, which buries a sentence in quotes.
        return str(self.args[0])


def names() -> tuple[str, ...]:
    """List the tables there are.

    Returns
    -------
    tuple of str
        Names that `rows` takes, in alphabetical order.

    Examples
    --------
    >>> "drills" in names()
    True
    """
    found = (entry.name for entry in files(__name__).iterdir())
    return tuple(sorted(name.removesuffix(".csv") for name in found if name.endswith(".csv")))


def rows(name: str) -> tuple[dict[str, str], ...]:
    """Read one table.

    Parameters
    ----------
    name : str
        Name of the table, one of `names`.

    Returns
    -------
    tuple of dict
        One dictionary per row, from the column's name to the text in the table. They are the
        caller's own: changing one changes no other caller's.

    Raises
    ------
    TableError
        If there is no such table.

    Examples
    --------
    >>> rows("flat-head-iso-7046-2")[6]["dk_max"]
    '11.3'
    """
    return tuple(dict(row) for row in _read(name))


@cache
def _read(name: str) -> tuple[Mapping[str, str], ...]:
    if name not in names():
        raise TableError(f"no table is called {name!r}; the tables are {', '.join(names())}")
    text = files(__name__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
