"""A process that does tasks for the server, one after the other: pickled requests come in, pickled answers go out.

``python -m sketcher.server.worker`` says ``ready`` once what tasks need is imported. It ends when its input is closed,
so that it never outlives whoever asked. The pipes are between two processes of one program: nothing from outside is
unpickled here.
"""

from __future__ import annotations

import os
import pickle
import sys
import time
from typing import Any, BinaryIO

#: Progress is said no more often than this, s.
_EVERY_S = 0.1


def main(source: BinaryIO, sink: BinaryIO) -> None:
    """Does tasks until there are no more."""
    from sketcher.document.out_of_memory import out_of_memory, take_room
    from sketcher.server.tasks import TASKS, as_refusal

    take_room()

    def say(*message: Any) -> None:
        pickle.dump(message, sink)
        sink.flush()

    say("ready")
    while True:
        try:
            name, arguments = pickle.load(source)
        except EOFError:
            return
        said = 0.0

        def heard(share: float) -> None:
            nonlocal said
            if time.monotonic() - said > _EVERY_S:
                said = time.monotonic()
                say("share", share)

        try:
            answer = TASKS[name](*arguments, progress=heard)
        except Exception as error:
            plain = as_refusal(error)
            if plain is not None:
                say("refused", *plain)
            elif out_of_memory(error):
                say("ended")
            else:
                say("failed", type(error).__name__)
        else:
            say("done", answer)


if __name__ == "__main__":
    # What a library prints must not get among the answers.
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    main(sys.stdin.buffer, answers)
