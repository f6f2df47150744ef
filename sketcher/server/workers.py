"""Long tasks beside the server: in processes of their own, few at once, with a time limit and a way to stop them.

The interpreter runs one thread at a time, and a library that works on a solid or a drawing lets no other in. So what
takes long runs elsewhere, and the live answer goes on. A process is kept for the next task; one that took too long is
ended and replaced.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import subprocess
import sys
import threading
import time
import weakref
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Any

from sketcher.importing.progress import Progress, unheard
from sketcher.server.tasks import TASKS, refused

#: A process gets so long to start, s: a cold disk and a busy machine.
_START_S = 120.0
#: One that ends so soon after it was asked had ended before, s.
_GONE_S = 0.5


class TooLong(Exception):
    """The task was ended: it took longer than it may."""


class Stopped(Exception):
    """The task was ended because nobody wants its answer any more."""


class Busy(Exception):
    """So many tasks wait already that another would wait too long."""


class Failed(Exception):
    """The program failed at the task; the message is the kind of error, nothing else."""


class Ended(Failed):
    """The task's process was ended by something else, or could not be begun: most often for want of memory."""


class _Gone(Ended):
    """A process that waited for work was gone when there was some."""


@dataclass(frozen=True)
class Order:
    """A task of ``tasks.TASKS``, its arguments, and on what terms it is done."""

    task: str
    arguments: tuple[Any, ...]
    seconds: float
    progress: Progress
    stop: threading.Event


class Runner(ABC):
    """Whoever does tasks."""

    def run(
        self,
        task: str,
        *arguments: Any,
        seconds: float,
        progress: Progress = unheard,
        stop: threading.Event | None = None,
    ) -> Any:
        """Does a task of ``tasks.TASKS`` and gives its answer.

        Raises:
            TooLong: it took more than so many seconds.
            Stopped: ``stop`` was set.
            Busy: too many wait.
            Ended: its process was ended.
            Failed: the program failed at it.
            ValueError: what the task itself refuses, as its own error.
        """
        return self.do(Order(task, arguments, seconds, progress, stop or threading.Event()))

    @abstractmethod
    def do(self, order: Order) -> Any:
        """The same for an order."""


class Inline(Runner):
    """Does tasks in the thread that asks, without a limit: for tests and for whoever embeds the application."""

    def do(self, order: Order) -> Any:
        """As ``Runner.run`` says; nothing limits or stops it."""
        return TASKS[order.task](*order.arguments, progress=order.progress)


class _Process:
    """One process and what it says."""

    def __init__(self) -> None:
        flags = getattr(subprocess, "CREATE_NO_WINDOW", 0)
        self.process = subprocess.Popen(
            [sys.executable, "-m", "sketcher.server.worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=None if os.environ.get("PLATE_SKETCHER_TRACE") else subprocess.DEVNULL,
            creationflags=flags,
        )
        self.said: queue.Queue[tuple[Any, ...]] = queue.Queue()
        try:
            threading.Thread(target=self._listen, daemon=True).start()
        except RuntimeError:
            self.end()
            raise

    def _listen(self) -> None:
        assert self.process.stdout is not None
        with self.process.stdout, contextlib.suppress(Exception):
            while True:
                self.said.put(pickle.load(self.process.stdout))
        self.said.put(("ended",))

    def ask(self, task: str, arguments: tuple[Any, ...]) -> None:
        """Gives it a task, without waiting until it has taken all of it: one that is stuck takes nothing."""
        try:
            threading.Thread(target=self._give, args=(task, arguments), daemon=True).start()
        except RuntimeError:  # no thread is to be had
            self.said.put(("ended",))

    def _give(self, task: str, arguments: tuple[Any, ...]) -> None:
        assert self.process.stdin is not None
        with contextlib.suppress(OSError, ValueError):  # a process that is gone, or was ended, says so by itself
            pickle.dump((task, arguments), self.process.stdin)
            self.process.stdin.flush()

    def end(self) -> None:
        self.process.kill()
        if self.process.stdin is not None:
            with contextlib.suppress(OSError):
                self.process.stdin.close()
        self.process.wait()


class Workers(Runner):
    """A few processes, begun when they are first wanted.

    Args:
        most: so many run at once.
        waiting: so many more may wait for one of them.
    """

    def __init__(self, most: int = 1, waiting: int = 8) -> None:
        self._places = threading.Semaphore(most)
        self._wanted = threading.Semaphore(most + waiting)
        self._lock = threading.Lock()
        self._idle: list[_Process] = []
        self._all: list[_Process] = []
        # No process outlives the server that began it.
        weakref.finalize(self, _end_all, self._all)

    def do(self, order: Order) -> Any:
        """As ``Runner.run`` says."""
        if not self._wanted.acquire(blocking=False):
            raise Busy
        try:
            with self._places:
                return self._done(order)
        finally:
            self._wanted.release()

    def _done(self, order: Order) -> Any:
        try:
            return self._done_by(self._idle_one(), order)
        except _Gone:  # it had ended before it was asked: a new one does it
            return self._done_by(None, order)

    def _done_by(self, waiting: _Process | None, order: Order) -> Any:
        process = waiting or self._begun()
        asked = time.monotonic()
        sound = False
        try:
            process.ask(order.task, order.arguments)
            until = time.monotonic() + order.seconds
            while True:
                kind, *more = self._next(process, until, order.stop)
                if kind == "share":
                    order.progress(more[0])
                    continue
                sound = kind in ("done", "refused")
                if kind == "done":
                    return more[0]
                if kind == "ended":
                    raise _Gone if waiting and time.monotonic() - asked < _GONE_S else Ended
                raise refused(*more) if kind == "refused" else Failed(more[0])
        finally:
            if sound:
                with self._lock:
                    self._idle.append(process)
            else:
                self._end(process)

    def _idle_one(self) -> _Process | None:
        with self._lock:
            while self._idle:
                process = self._idle.pop()
                if process.process.poll() is None:
                    return process
                self._all.remove(process)
        return None

    def _begun(self) -> _Process:
        with self._lock:
            try:
                process = _Process()
            except (OSError, RuntimeError):  # no memory for a process, no thread to listen to it
                raise Ended from None
            self._all.append(process)
        kind = ""
        try:
            kind, *_ = self._next(process, time.monotonic() + _START_S, threading.Event())
            if kind != "ready":
                raise Ended
            return process
        finally:
            if kind != "ready":
                self._end(process)

    def _end(self, process: _Process) -> None:
        with self._lock:
            self._all.remove(process)
            process.end()

    def _next(self, process: _Process, until: float, stop: threading.Event) -> tuple[Any, ...]:
        while True:
            if stop.is_set():
                raise Stopped
            if time.monotonic() > until:
                raise TooLong
            with contextlib.suppress(queue.Empty):
                return process.said.get(timeout=0.05)


def _end_all(processes: list[_Process]) -> None:
    for process in processes:
        process.end()
