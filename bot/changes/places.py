"""The rule files and examples on the disk, by the paths that changes use."""

from __future__ import annotations

import contextlib
import io
import os
import stat
import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from bot.examples import files
from bot.processes import Failed

BOOK = "book/"
EXAMPLES = f"{files.FOLDER}/"
Texts = dict[str, str]


class Places:
    """The folder of rule files, and that of the examples beside it."""

    def __init__(self, rules: Path) -> None:
        self.rules = rules
        self.examples = files.folder_of(rules)

    def path(self, name: str) -> Path:
        """The file a path of a change means. Raises `Failed` for one that leads elsewhere."""
        pure = PurePosixPath(name)
        folder = {BOOK: self.rules, EXAMPLES: self.examples}.get(name.partition("/")[0] + "/")
        if (
            folder is None
            or ".." in pure.parts
            or not name.isprintable()
            or any(part.startswith(".") for part in pure.parts)
            or pure.suffix not in (".yml", ".yaml")
            or str(pure) != name
        ):
            raise Failed(f"'{name}' is no rule file. It must be book/….yml or examples/….yml.")
        path = folder.joinpath(*pure.parts[1:])
        if not path.resolve().is_relative_to(folder.resolve()):
            raise Failed(f"'{name}' leads out of the folder of the rules.")
        return path

    def text(self, name: str) -> str | None:
        """A file's text with its own line ends, or nothing if it is not there."""
        path = self.path(name)
        try:
            return path.read_bytes().decode("utf-8")
        except FileNotFoundError:
            return None
        except UnicodeDecodeError:
            raise Failed(f"{path} is not saved as UTF-8. Save it again as UTF-8.") from None
        except OSError as error:
            raise Failed(f"{path} cannot be read: {error.strerror}.") from None

    def all(self) -> Texts:
        """Every file's text, with its own line ends."""
        found: Texts = {}
        for prefix, folder in ((BOOK, self.rules), (EXAMPLES, self.examples)):
            for path in sorted([*folder.rglob("*.yml"), *folder.rglob("*.yaml")]):
                if path.name.startswith("."):
                    continue
                name = prefix + path.relative_to(folder).as_posix()
                text = self.text(name)
                if text is not None:
                    found[name] = text
        return found

    def write(self, texts: Mapping[str, str | None]) -> None:
        """Put files in their places, all or none. `None` takes a file away. Raises `Failed`.

        Everything is written beside its place first, so that a full disk changes nothing.
        """
        ready: list[tuple[Path, Path | None]] = []
        done: list[tuple[Path, bytes | None]] = []
        try:
            for name, text in texts.items():
                path = self.path(name)
                ready.append((path, None if text is None else beside(path, text.encode("utf-8"))))
            for path, new in ready:
                old = path.read_bytes() if path.exists() else None
                done.append((path, old))
                if new is not None:
                    os.replace(new, path)
                else:
                    path.unlink(missing_ok=True)
        except OSError as error:
            for path, old in reversed(done):
                put_back(path, old)
            where = error.filename or self.rules
            raise Failed(
                f"{where} cannot be written: {error.strerror}. Nothing was changed."
            ) from None
        finally:
            for _, new in ready:
                if new is not None:
                    new.unlink(missing_ok=True)


def beside(path: Path, data: bytes) -> Path:
    """A new file in the same folder, with the rights of the one it will replace."""
    path.parent.mkdir(parents=True, exist_ok=True)
    mode = stat.S_IMODE(path.stat().st_mode) if path.exists() else 0o644
    with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".", delete=False) as file:
        try:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
            os.fchmod(file.fileno(), mode)
        except OSError:
            os.unlink(file.name)
            raise
    return Path(file.name)


def put_back(path: Path, data: bytes | None) -> None:
    """A file as it was, as far as the disk lets us."""
    with contextlib.suppress(OSError):
        if data is None:
            path.unlink(missing_ok=True)
        elif not path.exists() or path.read_bytes() != data:
            os.replace(beside(path, data), path)


def as_read(text: str) -> str:
    """A text as the loader reads it from a file: each line end a line feed."""
    return io.StringIO(text, newline=None).read()


def split(texts: Mapping[str, str]) -> tuple[Texts, Texts]:
    """The rule files, by their paths in the book, and the examples, as the loader reads them."""
    book = {n[len(BOOK) :]: as_read(t) for n, t in texts.items() if n.startswith(BOOK)}
    return book, {n: as_read(t) for n, t in texts.items() if n.startswith(EXAMPLES)}
