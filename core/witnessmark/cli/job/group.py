"""`witnessmark job`: the commands that open, run, list and show jobs."""

from witnessmark.cli.lazy import LazyGroup
from witnessmark.cli.table import JOB

job = LazyGroup(name="job", table=JOB, help="Open, run, list and show jobs.")
