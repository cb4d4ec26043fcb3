"""`witnessmark procedure`: begin one, check one, show one."""

from witnessmark.cli.lazy import LazyGroup
from witnessmark.cli.table import PROCEDURE

procedure = LazyGroup(name="procedure", table=PROCEDURE, help="Begin, check and show procedures.")
