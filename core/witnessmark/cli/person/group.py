"""`witnessmark person`: who works here, and who is signed on."""

from witnessmark.cli.lazy import LazyGroup
from witnessmark.cli.table import PERSON

person = LazyGroup(name="person", table=PERSON, help="Who works here: ids, roles and PINs; sign on and off.")
