"""Where part files lie: the folder at work, the demo parts, and what was typed and not saved."""

from __future__ import annotations

from pathlib import Path

from holecalc import demo
from holecalc.part import store
from holecalc.part.file import PartFile, files_in, open_file

__all__ = ["Bench"]

_DEMO, _TYPED = "demo: ", "not saved: "

_typed: list[PartFile] = []
"""Texts with changes that no file holds, the latest last. They outlive what they are shown in, for
as long as Python runs: running a cell again must not cost anybody their typing."""


class Bench:
    """A folder with part files, by the names a person gives them.

    A name is that of a file, with or without ``.toml``, in the folder or with a path of its own;
    ``demo:`` and the name of a demo part; or ``not saved:`` and the file's name, for what was typed
    and not saved.

    Parameters
    ----------
    folder : pathlib.Path, optional
        The folder; by default the one Python runs in.

    Examples
    --------
    >>> import tempfile
    >>> bench = Bench(Path(tempfile.mkdtemp()))
    >>> bench.names()
    ('demo: bearing-plate', 'demo: table-insert')
    >>> file = bench.latest()
    >>> file.path.name, file.saved
    ('bearing-plate.toml', False)
    >>> file.save()
    >>> bench.names()[0], bench.latest().saved, bench.free(file.path).name
    ('bearing-plate.toml', True, 'bearing-plate-2.toml')
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = Path.cwd() if folder is None else folder

    @property
    def writable(self) -> bool:
        """Whether something can be saved in the folder."""
        return store.writable(self.folder)

    def names(self, *, without: PartFile | None = None) -> tuple[str, ...]:
        """What can be opened: what was typed and not saved, the files, the demo parts.

        Parameters
        ----------
        without : PartFile, optional
            What is open already.
        """
        typed = [f"{_TYPED}{self.name(file.path)}" for file in _typed if file is not without]
        return (
            *reversed(typed),
            *(self.name(path) for path in self._files()),
            *(f"{_DEMO}{name}" for name in demo.names()),
        )

    def _files(self) -> tuple[Path, ...]:
        """Part files, the last saved first; those at home too where nothing can be saved here."""
        return files_in(self.folder) if self.writable else files_in(self.folder, Path.home())

    def name(self, path: Path) -> str:
        """What a path is called here: its name alone in this folder, else the whole path."""
        return path.name if path.parent == self.folder else str(path)

    def called(self, file: PartFile) -> str:
        """What a part that is open is called among the names.

        Parameters
        ----------
        file : PartFile
            Which.

        Examples
        --------
        >>> import tempfile
        >>> bench = Bench(Path(tempfile.mkdtemp()))
        >>> file = bench.latest()
        >>> bench.called(file)
        'demo: bearing-plate'
        >>> file.edit(file.text + "# mine")
        >>> bench.called(file)
        'not saved: bearing-plate.toml'
        >>> file.save()
        >>> bench.called(file)
        'bearing-plate.toml'
        """
        if file.saved_at is not None:
            return self.name(file.path)
        if not file.changed:
            for name in demo.names():
                if demo.text(name) == file.text:
                    return f"{_DEMO}{name}"
        return f"{_TYPED}{self.name(file.path)}"

    def path(self, name: str) -> Path:
        """The path that a typed name stands for.

        Raises
        ------
        ValueError
            It is no name for a file.
        """
        path = Path(name.strip()).expanduser()
        if not path.name or path.name.startswith((".", _DEMO, _TYPED)):
            raise ValueError(f"{name!r} is no file name. Type one, such as my-part.toml.")
        if path.suffix.lower() != ".toml":
            path = path.with_name(f"{path.name}.toml")
        return self.folder / path

    def open(self, name: str) -> PartFile:
        """Open a part by its name, usable or not.

        Raises
        ------
        ValueError
            Nothing has that name, or it is no text.
        OSError
            It cannot be read.
        """
        name = name.strip()
        for file in reversed(_typed):
            if name == f"{_TYPED}{self.name(file.path)}":
                return file
        if name.startswith(_DEMO):
            return self._demo(name.removeprefix(_DEMO).strip())
        path = self.path(name)
        if not path.exists():
            raise ValueError(f"{path} is not there. Choose one of the list, or look at the name.")
        return open_file(path, as_typed=True)

    def _demo(self, name: str) -> PartFile:
        if name not in demo.names():
            raise ValueError(
                f"There is no demo part {name!r}. Those are {', '.join(demo.names())}."
            )
        return PartFile(self.free(self.folder / f"{name}.toml"), demo.text(name))

    def latest(self) -> PartFile:
        """The part file saved last; a demo part where there is none that can be read."""
        for path in self._files():
            try:
                return open_file(path, as_typed=True)
            except (OSError, ValueError):
                continue
        return self._demo("bearing-plate")

    def free(self, path: Path, *, other: bool = False) -> Path:
        """A path like that one under which something can be saved: nothing is there yet.

        Where the folder cannot be written it is one in the person's home folder.

        Parameters
        ----------
        path : pathlib.Path
            What is asked for.
        other : bool, default False
            Whether that very path will not do.
        """
        folder = path.parent if store.writable(path.parent) else Path.home()
        free, number = folder / path.name, 1
        while free.exists() or (other and free == path):
            number += 1
            free = folder / f"{path.stem}-{number}{path.suffix}"
        return free

    def keep(self, file: PartFile) -> None:
        """Remember a text for as long as it has changes that no file holds."""
        if file in _typed:
            _typed.remove(file)
        if file.changed:
            _typed.append(file)

    def forgotten(self, *, without: PartFile) -> tuple[str, ...]:
        """What was typed and not saved, besides what is open."""
        return tuple(name for name in self.names(without=without) if name.startswith(_TYPED))
