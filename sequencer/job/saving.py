"""Files written whole or not at all.

A text goes to a file beside the target, is forced to the disk, and takes the target's place in one step (rename(2));
then the folder is forced to the disk too. Whoever is killed at any moment leaves the old file or the new one.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import stat
from collections.abc import Callable
from pathlib import Path

from sequencer.errors import Fault, GoneError, SaveError
from sequencer.job.source import MAX_BYTES

SUFFIX = ".saving"
"""Ends the name of a file that is about to take another's place."""

WRITING_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
"""How a file is opened that must not be there yet."""


def digest(text: str) -> str:
    """A text's fingerprint, of its bytes as saved."""
    return hashlib.sha256(text.encode()).hexdigest()


def read_exactly(path: Path) -> str:
    """The text of a file to the byte, line ends and byte order mark as they are.

    Raises SaveError where it is gone, or no text any more.
    """
    try:
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1).decode()
    except UnicodeDecodeError:
        raise SaveError([Fault("", "another program has made it something else than text", "look at it")]) from None
    except OSError as error:
        raise failure(error, path, "read") from None


def replace_text(path: Path, text: str, guard: Callable[[], None], create: bool = False) -> None:
    """Put `text` in the place of a file, its mode kept; a link's target is what is replaced.

    guard: asked at the last moment; what it raises stops the writing. create: whether the file may be missing.
    Raises SaveError, and then the file is as it was.
    """
    try:
        path = path.resolve()
    except OSError as error:  # A path from a folder that is gone.
        raise failure(error, path, "saved") from None
    waiting = path.with_name(f".{path.name}{SUFFIX}")
    try:
        old = _status(path, create)
        if old is not None and not stat.S_IMODE(old.st_mode) & 0o222:
            raise PermissionError(errno.EACCES, "read-only", str(path))
        _write_beside(waiting, text.encode(), old)
        guard()
        waiting.replace(path)
    except OSError as error:
        _drop(waiting)
        raise failure(error, path, "saved") from None
    except SaveError:
        _drop(waiting)
        raise
    # The file has been replaced: a folder that can't be forced to the disk takes nothing of that back.
    with contextlib.suppress(OSError):
        sync_folder(path.parent)


def write_new(path: Path, raw: bytes) -> None:
    """Write a file that is not there yet, down to the disk, whole or not at all.

    Raises OSError, ValueError (no name for a file).
    """
    handle = os.open(path, WRITING_NEW, 0o666)
    try:
        write_all(handle, raw)
        os.fsync(handle)
    except BaseException:
        _drop(path)
        raise
    finally:
        os.close(handle)
    with contextlib.suppress(OSError):
        sync_folder(path.parent)


def drop_leftover(path: Path) -> None:
    """Take away what a writer that was killed has left beside a file; only for who holds the file's lock."""
    path = path.resolve()
    _drop(path.with_name(f".{path.name}{SUFFIX}"))


def _drop(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink()


def _status(path: Path, create: bool) -> os.stat_result | None:
    try:
        return path.stat()
    except FileNotFoundError:
        if create:
            return None
        raise


def _write_beside(path: Path, raw: bytes, old: os.stat_result | None) -> None:
    """Write a new file with the owner and the mode of an old one, down to the disk."""
    with contextlib.suppress(FileNotFoundError):
        path.unlink()
    private = 0o600 if old is not None else 0o666
    handle = os.open(path, WRITING_NEW, private)
    try:
        write_all(handle, raw)
        if old is not None and os.name == "posix":
            with contextlib.suppress(PermissionError):
                os.fchown(handle, old.st_uid, old.st_gid)
            os.fchmod(handle, stat.S_IMODE(old.st_mode))
        os.fsync(handle)
    finally:
        os.close(handle)


def write_all(handle: int, raw: bytes) -> None:
    """Write all bytes; a write may take fewer than it was given."""
    view = memoryview(raw)
    while view:
        view = view[os.write(handle, view) :]


def sync_folder(folder: Path) -> None:
    """Force a folder's entries to the disk, where the system has a way to."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def failure(error: OSError, path: Path, verb: str) -> SaveError:
    """What went wrong with a file, in a sentence. verb: ``read``, ``changed`` or ``saved``."""
    told = {
        errno.ENOSPC: ("the disk is full", "make room, then do it again; the file is as it was"),
        errno.EDQUOT: ("your share of the disk is full", "make room, then do it again; the file is as it was"),
        errno.EROFS: ("the disk is read-only", "copy the job to another place and open it there"),
        errno.EACCES: ("the file or its folder is read-only", "change that, or copy the job to another place"),
        errno.EPERM: ("the file or its folder is read-only", "change that, or copy the job to another place"),
        errno.ENOENT: ("the file is gone", "put it back, or save what is shown here as it is"),
        errno.ENOTDIR: ("its folder is gone", "put it back"),
        errno.EISDIR: ("there is a folder in its place", "take that away"),
        errno.EIO: ("the disk does not answer", "check the disk; the file is as it was"),
    }
    if verb == "read" and error.errno in (errno.EACCES, errno.EPERM):
        told[error.errno] = ("you may not read it", "change its permissions")
    what, hint = told.get(error.errno or 0, ((error.strerror or "no access").lower(), "check the disk and the folder"))
    kind = SaveError
    if error.errno == errno.ENOENT:
        if _is_folder(path.parent):
            kind = GoneError
        else:
            what, hint = "the file is gone, and its folder with it", "put the folder back"
    return kind([Fault("", f"can't be {verb}, {what}", hint)], str(path))


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError:
        return False
