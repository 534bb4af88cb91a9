"""Parts to try things on. Everything about them is invented, and they say so."""

from importlib.resources import files

__all__ = ["names", "text"]


def names() -> tuple[str, ...]:
    """The demo parts there are.

    Examples
    --------
    >>> names()
    ('bearing-plate', 'table-insert')
    """
    found = (entry.name for entry in files(__name__).iterdir())
    return tuple(sorted(name[:-5] for name in found if name.endswith(".toml")))


def text(name: str) -> str:
    """The part file of one of :func:`names`.

    Raises
    ------
    KeyError
        There is no such part.

    Examples
    --------
    >>> print(text("bearing-plate").splitlines()[0])
    # Everything here is invented: the part, its sizes, its T-nuts and its cutters.
    """
    if name not in names():
        raise KeyError(name)
    return (files(__name__) / f"{name}.toml").read_text(encoding="utf-8")
