"""The files of an archive, in a folder or a zip file, opened so that neither can lead astray.

Nothing is unpacked. A name leads to a file of the archive or nowhere; a file is read as a stream and counted while it
is read; and what swells too much when it is unpacked is refused.
"""

import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import BinaryIO, Protocol, cast

from service.formats.darwin_core.report import BadArchive

_MB = 1024 * 1024
#: Deflate cannot pack text tighter than about 1,000 to 1; honest tables come to 5 to 30.
_MOST_SWELLING = 200
_SMALL = 10 * _MB
_WAYS_OF_PACKING = frozenset({zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED})
_ENCRYPTED = 0x1


@dataclass(frozen=True, slots=True)
class Limits:
    """How much of an archive is read."""

    rows: int = 1_000_000
    """Of the core, and of each extension."""
    bytes_of_file: int = 2_048 * _MB
    """Of one file, unpacked."""
    bytes_of_descriptor: int = _MB
    characters_of_record: int = _MB
    files: int = 1_000


class Holder(Protocol):
    """Where the files are."""

    def names(self) -> tuple[str, ...]: ...

    def open(self, name: str) -> BinaryIO: ...


@dataclass(frozen=True, slots=True)
class Folder:
    path: Path

    def names(self) -> tuple[str, ...]:
        inside = sorted(each.name for each in self.path.iterdir() if each.is_file())
        return tuple(name for name in inside if not name.startswith("."))

    def open(self, name: str) -> BinaryIO:
        _check_name(name)
        home = self.path.resolve()
        there = (home / name).resolve()
        if not there.is_relative_to(home):
            raise BadArchive(f"“{name}” leads out of the archive.")
        if not there.is_file():
            raise BadArchive(f"The archive has no file “{name}”.")
        return there.open("rb")


@dataclass(frozen=True, slots=True)
class Zipped:
    packed: zipfile.ZipFile
    limits: Limits
    inside: str = ""

    def names(self) -> tuple[str, ...]:
        every = (info.filename.removeprefix(self.inside) for info in self.packed.infolist() if not info.is_dir())
        return tuple(name for name in every if "/" not in name and not name.startswith("."))

    def open(self, name: str) -> BinaryIO:
        _check_name(name)
        try:
            info = self.packed.getinfo(self.inside + str(PurePosixPath(name)))
        except KeyError as error:
            raise BadArchive(f"The archive has no file “{name}”.") from error
        _check_packing(info, self.limits)
        return cast(BinaryIO, self.packed.open(info))


@contextmanager
def opened(source: Path | BinaryIO, limits: Limits) -> Iterator[Holder]:
    """The files of a folder, or of a zip file.

    :raises BadArchive: when it is neither, or has too many files.
    """
    if isinstance(source, Path) and source.is_dir():
        yield Folder(source)
        return
    try:
        with zipfile.ZipFile(source) as packed:
            if len(packed.infolist()) > limits.files:
                raise BadArchive(f"The archive holds more than {limits.files:,} files.")
            yield Zipped(packed, limits, _common_folder(packed))
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, EOFError, zlib.error) as error:
        raise BadArchive("The archive is no zip file, or is damaged; pack it anew.") from error


def _check_name(name: str) -> None:
    if "://" in name:
        raise BadArchive(f"“{name}” lies elsewhere; put the file into the archive.")
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\\" in name or "\0" in name or not path.parts:
        raise BadArchive(f"“{name}” leads out of the archive.")


def _check_packing(info: zipfile.ZipInfo, limits: Limits) -> None:
    if info.flag_bits & _ENCRYPTED or info.compress_type not in _WAYS_OF_PACKING:
        raise BadArchive(
            f"“{info.filename}” is encrypted or packed in an unusual way; pack it as plain zip (deflate)."
        )
    swells = info.file_size > _SMALL and info.file_size > _MOST_SWELLING * info.compress_size
    if swells or info.file_size > limits.bytes_of_file:
        raise BadArchive(f"“{info.filename}” would swell to {info.file_size:,} bytes, which is more than is taken.")


def _common_folder(packed: zipfile.ZipFile) -> str:
    """The one folder that all files lie in, where somebody packed the folder instead of what is in it."""
    tops = {info.filename.split("/", 1)[0] for info in packed.infolist() if not info.filename.startswith("__MACOSX/")}
    apart = any("/" not in info.filename for info in packed.infolist())
    return "" if apart or len(tops) != 1 else f"{tops.pop()}/"
