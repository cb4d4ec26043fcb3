"""`witnessmark key`: the shop's key, which signs sheets and checkpoints."""

from witnessmark.cli.lazy import LazyGroup
from witnessmark.cli.table import KEY

key = LazyGroup(name="key", table=KEY, help="Make, show and replace the key that signs sheets and checkpoints.")
