"""What was seen where somebody looked and it was not right, in few words: as the key tag and the list of jobs have it.

An audit and one of its findings flow in, words flow out. Rules that hold here: what is not shown to be put right comes
first, the newest first, and is never cut; what was put right since is said to be that, and only as far as it fits; the
words of people are measured as they are shown, not as the entry keeps them; what is asked at each pass names its pass.
"""

from __future__ import annotations

import textwrap

from witnessmark.audit.case import Case
from witnessmark.audit.run import Audit
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Act
from witnessmark.audit.verdict import Finding
from witnessmark.report.kept import Say
from witnessmark.report.put_right import shown_right
from witnessmark.report.read_now import counted

OPEN = ("not met", "no proof")
MOST = 80
"""Letters from which on what was put right since is left out: a choice of this project."""
MOST_PASSES = 3
"""So many passes are named beside a question at most: a choice of this project."""
OF_THE_ENTRIES = ("entered-live", "who", "altered")
"""Questions about how entries were made: what was seen, as an entry says it, is not what is wrong with it."""
PUT_RIGHT = "put right since: "


def seen(audit: Audit, found: Finding, say: Say) -> str:
    """Return what was seen not to be right among the entries that a finding cites, empty where nothing was."""
    if found.id in OF_THE_ENTRIES or found.answer not in OPEN:
        return ""
    case = counted(audit.case)
    looks = [act for act in reversed(case.timeline.acts) if act.looked and act.said and act.seq in found.cites]
    still = [_words(act, say) for act in looks if not _is_right(case, audit.case, act, found)]
    since = [words for act in looks if (words := _words(act, say)) not in still]
    text = "; ".join(dict.fromkeys(still))
    if not since:
        return text
    room = MOST - len(text) - (2 if text else 0)
    more = textwrap.shorten(PUT_RIGHT + "; ".join(dict.fromkeys(since)), max(room, len("[...]")))
    return "; ".join(part for part in (text, more if more.startswith(PUT_RIGHT) else "") if part)


def _words(act: Act, say: Say) -> str:
    """Return what was said at a look, with its pass where it was at one."""
    return f"{act.pass_id}: {say(act.said)}" if act.pass_id else str(say(act.said))


def where(case: Case, found: Finding) -> str:
    """Return the passes that decide an open question; empty where none does, or each of the plan, or many."""
    parts = [f"{one.subject}," for one in found.details if one.answer == found.answer]
    names = [one.id for one in case.plan if any(part.startswith((f"{one.id},", f"{one.id} ")) for part in parts)]
    return listing(names) if len(names) < min(len(case.plan), MOST_PASSES + 1) else ""


def _is_right(case: Case, whole: Case, look: Act, found: Finding) -> bool:
    """Whether a look that was not right is shown to be right since: by its check, or done again in its pass."""
    if look.step in (right := shown_right(whole)) and not look.pass_id:
        return right[look.step]
    if any(look.seq in one.cites for one in found.details if one.answer in OPEN):
        return False
    later = [act for act in case.acts_at(look.pass_id) if act.step == look.step and act.done and act.seq > look.seq]
    return any(act.nipple == look.nipple or "" in (act.nipple, look.nipple) for act in later)
