"""The journal beside a job file, ``.NAME.journal``, only ever appended to; and the lock on the job.

A line is forced to the disk before the job file is touched, and marked ``done`` after: a line without its mark is a
change whose file was not written yet, or was just now. Who has the journal open for writing is the only one who writes.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import stat
import sys
from collections.abc import Iterable
from pathlib import Path

from sequencer.errors import Fault, InUseError
from sequencer.job.record import Entry, Record, parse_entry
from sequencer.job.saving import failure, sync_folder, write_all, write_new
from sequencer.job.sidefiles import MOST_JOURNAL, check_own

if sys.platform != "win32":
    import fcntl


def journal_path(path: Path) -> Path:
    """The journal of a job file: hidden, beside it (beside what it links to)."""
    real = path.resolve()
    return real.with_name(f".{real.name}.journal")


class Journal:
    """A journal open for writing, which only one can have at a time."""

    def __init__(self, path: Path, handle: int, job_file: Path) -> None:
        self.path = path
        self.job_file = job_file
        self._handle = handle
        self.record = Record()
        self._size = 0
        self._unread = False
        self._read()

    @classmethod
    def acquire(cls, path: Path, job_file: Path) -> Journal:
        """Open the journal of a job file, made where it is missing, and lock it.

        Raises InUseError where another has it, SaveError where it can't be opened. A lock goes with its holder,
        however that ends.
        """
        how = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
        while True:
            check_own(path, MOST_JOURNAL)
            try:
                handle = os.open(path, how, _mode_for(job_file))
            except OSError as error:
                raise failure(error, job_file, "changed") from None
            try:
                if not _lock(handle):
                    hint = "close it there, then do it again"
                    raise InUseError([Fault("", "the job is open in another window", hint)], str(job_file))
                if _same_file(handle, path):
                    return cls(path, handle, job_file)
                # Whoever had it took it away while closing: look again.
                os.close(handle)
            except OSError as error:
                os.close(handle)
                raise failure(error, job_file, "changed") from None
            except BaseException:
                os.close(handle)
                raise

    @property
    def alive(self) -> bool:
        """Whether the journal still stands where it was, and could be read."""
        return not self._unread and _same_file(self._handle, self.path)

    def _read(self) -> None:
        """Follow the lines; what is torn or damaged at the end is cut off, and kept aside unless merely torn."""
        raw = b"".join(iter(lambda: os.read(self._handle, 1 << 20), b""))
        good = 0
        whole = raw[: raw.rfind(b"\n") + 1]
        for line in whole.splitlines(keepends=True):
            try:
                found = parse_entry(line)
                if isinstance(found, Entry):
                    self.record.take(found)
                else:
                    self.record.marked = found
            except ValueError:
                break
            good += len(line)
        self._size = good
        if good < len(whole):
            self._keep_aside(raw)
        if good < len(raw):
            self._cut(good)

    def _keep_aside(self, raw: bytes) -> None:
        aside = self.path.with_name(f"{self.path.name}.damaged")
        with contextlib.suppress(OSError):
            # Never through a link that somebody has put there.
            aside.unlink(missing_ok=True)
            write_new(aside, raw)

    def append(self, entries: Iterable[Entry]) -> None:
        """Write entries and force them to the disk. Raises SaveError, and then nothing was added."""
        listed = list(entries)
        raw = "".join(entry.line() for entry in listed).encode()
        try:
            self._add(raw, forced=True)
        except OSError as error:
            raise failure(error, self.job_file, "saved") from None
        for entry in listed:
            self.record.take(entry)

    def _add(self, raw: bytes, forced: bool) -> None:
        """Write bytes at the end, to the disk where `forced`; whatever breaks in, all of them or none."""
        try:
            if os.fstat(self._handle).st_size != self._size:
                # What broke in before could not be cut off then.
                os.ftruncate(self._handle, self._size)
            write_all(self._handle, raw)
            if forced:
                os.fsync(self._handle)
                if not self._size:
                    sync_folder(self.path.parent)
        except BaseException:
            self._cut(self._size)
            raise
        self._size += len(raw)

    def mark_done(self) -> None:
        """Note that the file has been written; nothing hangs on it but the recovery after a sudden end."""
        number = self.record.entries[-1].number
        with contextlib.suppress(OSError):
            self._add(json.dumps({"done": number}).encode() + b"\n", forced=False)
        self.record.marked = number

    def withdraw(self, size: int) -> None:
        """Take back what was added past `size`: its file could not be written."""
        self._cut(size)
        self.record = Record()
        try:
            os.lseek(self._handle, 0, os.SEEK_SET)
            self._read()
        except OSError:
            self._unread = True

    @property
    def size(self) -> int:
        """Bytes so far."""
        return self._size

    def _cut(self, size: int) -> None:
        # Where even this fails the torn line is cut off when next read.
        with contextlib.suppress(OSError):
            os.ftruncate(self._handle, size)
            os.fsync(self._handle)

    def close(self) -> None:
        """Let go of the lock; a journal in which nothing was written is taken away."""
        with contextlib.suppress(OSError):
            if not self._size and os.fstat(self._handle).st_size == 0 and self.alive:
                self.path.unlink()
        with contextlib.suppress(OSError):  # A disk that was pulled out; the lock went with it.
            os.close(self._handle)


def _mode_for(job_file: Path) -> int:
    """The journal holds the job's text: whoever may not read that may not read this."""
    try:
        return stat.S_IMODE(job_file.stat().st_mode) & 0o666 | 0o600
    except FileNotFoundError:
        return 0o600


def _lock(handle: int) -> bool:
    """Lock an open file, unless another has; where the system has no such locks, all have it."""
    if sys.platform == "win32":
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        # A file system without locks can't tell who else is there.
        return error.errno not in (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES)
    return True


def _same_file(handle: int, path: Path) -> bool:
    try:
        there, held = path.stat(), os.fstat(handle)
    except OSError:  # Nobody is there, or the disk it was on is not.
        return False
    return (held.st_ino, held.st_dev) == (there.st_ino, there.st_dev)
