"""The program's start: where memory runs out, at the latest here, it says so and no traceback."""

import sys

#: Exit code when the work cannot be done on this machine; the same as for an input at fault.
_NOT_DONE = 1
#: What the system's loader says where a library does not fit into memory any more.
_NO_ROOM = ("failed to map segment", "Cannot allocate memory", "Could not find/load shared object")


def main() -> None:
    """Run the command line."""
    try:
        from haulshed.cli import main as command_line  # noqa: PLC0415 — loading may need too much

        command_line(prog_name="haulshed")
    except MemoryError:
        _stop()
    except (ImportError, OSError) as fault:
        if not any(words in str(fault) for words in _NO_ROOM):
            raise
        _stop()


def _stop() -> None:
    message = (
        "haulshed: there is not enough memory for this district. The last good outputs are as they"
        " were. Free memory, raise the limit (ulimit -v), or run the district in parts.\n"
    )
    sys.stderr.write(message)
    sys.exit(_NOT_DONE)


if __name__ == "__main__":
    main()
