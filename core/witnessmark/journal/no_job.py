"""What is said where a journal has no such job: what a job is called, and what else may have been meant.

The name that was given flows in, an error flows out.
"""

from __future__ import annotations

from pathlib import PurePath

from witnessmark.errors import InputError


def no_job(job: str) -> InputError:
    """Return the error for a job that is not there; one that names a file says which commands read files."""
    what = f"there is no job {job!r} in this journal"
    here = "see `witnessmark job list`"
    if not _is_file(job):
        return InputError(what, place="job", hint=here)
    hint = f"{here} for the jobs of this bay; what an evidence file says: `witnessmark audit FILE`, or `verify FILE`"
    return InputError(f"{what}: an id is expected here, such as 260331-1, and no file", place="job", hint=hint)


def _is_file(name: str) -> bool:
    return len(PurePath(name).parts) > 1 or bool(PurePath(name).suffix) or "/" in name or "\\" in name
