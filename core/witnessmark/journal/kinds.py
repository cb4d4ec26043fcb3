"""The kinds of entry, each with its meaning in a line.

A writer uses only these. A reader shows a kind it does not know as it stands, so that a journal written by a later
version still opens and verifies.
"""

from __future__ import annotations

WORK = ("step", "reading", "armed", "intent", "outcome", "inspection", "first-use")
"""The kinds that say that somebody was at work on the vehicle; the others are about the record or about the job."""
BESIDE = ("amendment", "attachment", "note", "sheet", "checkpoint", "erasure")
"""The kinds that are added to the record at a desk, at any time: nobody was at the vehicle for that."""

KINDS: dict[str, str] = {
    "genesis": "entry 0: the format, a random journal id and the origin that its checkpoints carry",
    "key": "a shop key comes into use, or replaces the one before it and is signed by it",
    "job-opened": "a job begins: vehicle, scope, procedure and map by their digests",
    "moved": "a job goes on here from another journal: its origin, count, head and checkpoint there",
    "handed-over": "the job goes to another bay, named, and is not worked on here any more; with no name it did not go",
    "sign-on": "a person says who they are and in which role",
    "sign-off": "a person leaves",
    "people": "who works here changes: somebody is added or removed, a role or a PIN is another",
    "state": "the job is paused, resumed, abandoned, finished or released",
    "step": "a manual step was done, or was left out and why",
    "reading": "a value read off a gauge, a bottle or the vehicle, with its unit as entered",
    "condition": "a precondition was read, or asked of a person who answered",
    "approval": "a wire command may be used on this control unit, and who allowed it",
    "armed": "the person at the screen confirmed what only eyes can see",
    "disarmed": "arming ended: it expired, was taken back, or a condition failed",
    "intent": "what is about to be sent; on disk before the first byte leaves",
    "exchange": "one request and all that answered it, as raw bytes with their stamps",
    "keepalive": "how the session was kept open during one actuation, with its gaps",
    "scan": "the trouble codes that a control unit reported, before or after the work",
    "outcome": "how an actuation ended, as the control unit answered or did not",
    "refused": "something was asked for and not done, and why",
    "event": "the link was lost, came back, or reported an error",
    "interrupted": "an intent without an outcome was found after a crash",
    "left": "the program that ran the job ended, and how; or a later one found that it had ended without a word",
    "inspection": "what a person found when asked to look",
    "first-use": "what a person saw and felt of the first use of a learned wire command",
    "amendment": "an earlier entry is corrected: target, reason, what is right instead",
    "attachment": "a photo or other file enters by its hash",
    "checkpoint": "the tree was signed at this size",
    "sheet": "a sheet was printed: its checkpoint, the job's count and head",
    "erasure": "personal data was deleted, and the copies that it cannot reach",
    "note": "a remark that settles nothing",
}
