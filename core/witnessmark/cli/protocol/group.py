"""`witnessmark protocol`: what a vehicle speaks, and what may be sent to it."""

from witnessmark.cli.lazy import LazyGroup
from witnessmark.cli.table import PROTOCOL

protocol = LazyGroup(name="protocol", table=PROTOCOL, help="Learn what a vehicle speaks, and approve what may be sent.")
