"""The program's start: where memory runs out, at the latest here, it says so and no traceback."""

import sys
from typing import NoReturn

#: Exit code when the work cannot be done on this machine; the same as for an input at fault.
_NOT_DONE = 1
#: What is said where a library, or a thread, does not fit into memory any more.
_NO_ROOM = (
    "failed to map segment",
    "Cannot allocate memory",
    "Could not find/load shared object",
    "Failed to launch worker thread",
    "can't start new thread",
)


def main() -> None:
    """Run the command line."""
    limited = _is_limited()  # asked first: later there may be no room for the asking
    try:
        from haulshed.cli import main as command_line  # noqa: PLC0415 — loading may need too much
    except ModuleNotFoundError:
        raise
    except Exception as fault:
        # Some libraries make another complaint of it while they load: GDAL, that it finds no files.
        if not (limited or _is_no_room(fault)):
            raise
        _stop()
    try:
        command_line(prog_name="haulshed")
    except Exception as fault:
        if not _is_no_room(fault):
            raise
        _stop()


def _is_limited() -> bool:
    """Say whether the system gives this process no more than so much memory."""
    try:
        import resource  # noqa: PLC0415 — Windows has no such limit
    except ModuleNotFoundError:
        return False
    return resource.getrlimit(resource.RLIMIT_AS)[0] != resource.RLIM_INFINITY


def _is_no_room(fault: Exception) -> bool:
    return isinstance(fault, MemoryError) or any(words in str(fault) for words in _NO_ROOM)


def _stop() -> NoReturn:
    message = (
        "haulshed: there is not enough memory for this district. The last good outputs are as they"
        " were. Free memory, raise the limit (ulimit -v), or run the district in parts.\n"
    )
    sys.stderr.write(message)
    sys.exit(_NOT_DONE)


if __name__ == "__main__":
    main()
