"""The command line: one thin file a command; errors become one line and an exit status here and nowhere else."""

import gc
import io
import os
import sys
from collections.abc import Sequence

#: Exit statuses: measured and nothing out; measured and something out; not measured (other commands: not done).
DONE, OUT, NOT_DONE = 0, 1, 2

#: New objects between two searches for dead cycles: at the usual 700, loading our modules sets off hundreds of them,
#: and none of those in a whole check finds more than a few hundred small objects.
OBJECTS = 500_000

#: As the shell reports a program that Ctrl-C ended.
INTERRUPTED = 130


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command and leave with its status; never a traceback unless ALIGNCHECK_TRACEBACK is set."""
    gc.set_threshold(OBJECTS)
    # Our matrices are small: threads of the linear algebra wait for one another, a sixth of a check's processor time.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        # A terminal without our signs (an old code page) shows a question mark; it must not stop the work.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    status = run(sys.argv[1:] if arguments is None else arguments)
    # Else the interpreter would search all that we loaded for dead cycles, only to end: a twentieth of a check's time.
    gc.freeze()
    sys.exit(status)


def run(arguments: Sequence[str]) -> int:
    """Run the command; its exit status."""
    from aligncheck.cli.app import app_for
    from aligncheck.errors import AligncheckError

    try:
        status = app_for(arguments)(args=list(arguments), prog_name="aligncheck", standalone_mode=False)
        sys.stdout.flush()
        # The parser swallows Ctrl-C and hands back its status.
        return say("Stopped.", INTERRUPTED) if status == INTERRUPTED else int(status or DONE)
    except AligncheckError as error:
        return say(str(error))
    except KeyboardInterrupt:
        return say("Stopped.", INTERRUPTED)
    except BrokenPipeError:
        # The reader of our output has gone (`| head`): nothing is wrong, and nobody is left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return NOT_DONE
    except Exception as error:
        if os.environ.get("ALIGNCHECK_TRACEBACK"):
            raise
        return say(_in_words(error))


def _in_words(error: Exception) -> str:
    """What to say of an error that is not ours."""
    # The parser's complaints (a missing option, an unknown name) know what they mean, and in which command.
    tell = getattr(error, "format_message", None)
    if tell is None:
        reason = f"{type(error).__name__}: {error}"
        return f"Something went wrong inside aligncheck ({reason}). Please report it with the photo."
    command = getattr(getattr(error, "ctx", None), "command_path", "aligncheck")
    said = tell()
    return f"{said}{'' if said.endswith(('.', '?')) else '.'} Help: {command} --help"


def say(sentence: str, status: int = NOT_DONE) -> int:
    """One line on standard error, and the status to leave with."""
    sys.stderr.write(" ".join(sentence.split()) + "\n")
    return status
