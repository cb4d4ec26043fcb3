"""An evidence file, verified and audited with every installed question.

Bytes of an evidence file flow in, the audit and how the record was found flow out. A damaged file is audited as far
as its entries can be read: its integrity is then one of the findings.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.audit.run import Audit, audit
from witnessmark.audit.verify import Verification, verify
from witnessmark.errors import PluginError
from witnessmark.host import questions
from witnessmark.journal.checkpoint import Anchor


@dataclass(frozen=True)
class Audited:
    """The audit, the integrity it rests on, and the question plugins that were left out because they are broken."""

    audit: Audit
    integrity: Verification
    broken: tuple[PluginError, ...]


def audit_evidence(data: bytes, anchor: Anchor | None = None, *, name: str = "evidence file") -> Audited:
    """Verify and audit one evidence file. Raises InputError when it is none, or holds no readable job."""
    integrity = verify(data, anchor, name=name)
    loaded = questions.load()
    return Audited(audit(integrity.entries, loaded.asked, integrity=integrity), integrity, loaded.broken)
