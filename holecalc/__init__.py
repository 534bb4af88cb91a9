"""An engineering workbook for hole features in plate parts.

Given a plate, a fastener and a cutter, holecalc works out the numbers a machine has to be told:
which circle the cutter runs on and how deep, which hole it starts from, and how the fastener will
sit when it is done. The same numbers can be solved backwards, drawn, toleranced, checked and
compared with a measurement of the first part.

Each kind of hole has a module of its own, named after the thing on the drawing, such as
`holecalc.countersink`. A module is loaded when it is first used, so that ``import holecalc`` by
itself costs next to nothing.

Examples
--------
>>> import holecalc
>>> len(holecalc.tables.rows("drills"))
106
"""

from typing import Any

__all__ = ["__version__"]


def __getattr__(name: str) -> Any:
    # Imported here because `import holecalc` should not pay for either of them.
    from importlib import import_module, metadata

    if name == "__version__":
        try:
            return metadata.version(__name__)
        except metadata.PackageNotFoundError:
            return "0+not.installed"
    if not name.startswith("_"):
        module = f"{__name__}.{name}"
        try:
            return import_module(module)
        except ModuleNotFoundError as error:
            # A module that is there but misses a library of its own must say so itself.
            if error.name != module:
                raise
    raise AttributeError(
        f"holecalc has no module or name {name!r}; dir(holecalc) lists what there is"
    )


def __dir__() -> list[str]:
    from pkgutil import iter_modules

    return sorted({*globals(), *__all__, *(module.name for module in iter_modules(__path__))})
