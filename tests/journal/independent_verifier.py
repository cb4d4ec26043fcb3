"""A second verifier of evidence files, written from docs/journal-format.md alone. It shares no code with the first.

`python independent_verifier.py FILE [ANCHOR]` prints the verdict; ANCHOR is a file with a signed checkpoint, or
COUNT:HEAD.
"""

import json
import re
import sys
from base64 import b64decode
from hashlib import sha256
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey


class Verdict(Exception):
    pass


def need(condition, verdict="altered"):
    if not condition:
        raise Verdict(verdict)


def whole(number):
    need(re.fullmatch("-?[0-9]+", number) and abs(int(number)) < 2**53)
    return int(number)


def spell(value):
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def leaf(entry):
    return sha256(b"\x00" + spell(entry)).digest()


def node(left, right):
    return sha256(b"\x01" + left + right).digest()


def split(path, size):
    """Return the size of a tree's left part (RFC 9162, 2.1), the hash of a path that stands highest, and the rest."""
    need(path and re.fullmatch("[0-9a-f]{64}", path[-1]))
    return (1 << (size - 1).bit_length()) // 2, bytes.fromhex(path[-1]), path[:-1]


def by_inclusion(value, index, size, path):
    """Return the root that an inclusion path leads to, by RFC 9162's own recursive definition."""
    if size == 1:
        need(not path)
        return value
    left, sibling, rest = split(path, size)
    if index < left:
        return node(by_inclusion(value, index, left, rest), sibling)
    return node(sibling, by_inclusion(value, index - left, size - left, rest))


def by_consistency(first, size, path, old):
    """Return both roots that RFC 9162's SUBPROOF leads to; `old` is the first, None where the path must give it."""
    if first == size and old is not None:
        need(not path)
        return old, old
    left, sibling, rest = split(path, size)
    if first == size:
        need(not rest)
        return sibling, sibling
    if first <= left:
        before, after = by_consistency(first, left, rest, old)
        return before, node(after, sibling)
    before, after = by_consistency(first - left, size - left, rest, None)
    return node(sibling, before), node(sibling, after)


def read_note(note):
    text, _, below = note.rpartition("\n\n")
    lines = [line.split(" ") for line in below.splitlines()]
    need(all(dash == "\u2014" for dash, _, _ in lines))
    return text + "\n", [(name, b64decode(code)) for _, name, code in lines]


def read_checkpoint(note, job):
    origin, size, root, *more = read_note(note)[0].removesuffix("\n").split("\n")
    pins = [line.split(" ") for line in more if line.startswith(f"job {job} ")]
    return origin, int(size), b64decode(root), (int(pins[0][2]), b64decode(pins[0][3]).hex()) if pins else None


def signed(note, keys):
    """True or False as the signature holds, None when none of the keys is named."""
    text, signatures = read_note(note)
    for name, _, code in (key.split("+", 2) for key in keys):
        raw = b64decode(code)
        named = (name, sha256(name.encode() + b"\n" + raw).digest()[:4])
        for value in (value for who, value in signatures if (who, value[:4]) == named):
            try:
                Ed25519PublicKey.from_public_bytes(raw[1:]).verify(value[4:], text.encode())
                return True
            except InvalidSignature:
                return False
    return None


def check_pin(leaves, pin):
    if pin:
        need(pin[0] <= len(leaves), "entries missing")
        need(leaves[pin[0] - 1].hex().startswith(pin[1]))


def check_entries(entries):
    need(entries, "incomplete")
    leaves = [leaf(entry) for entry in entries]
    numbers = {entry["job_seq"] for entry in entries}
    for n, entry in enumerate(entries):
        need(entry["job"] is not None and entry["job"] == entries[0]["job"])
        need(n == 0 or entry["seq"] > entries[n - 1]["seq"])
        need(n in numbers, "entries missing")
        need(entry["job_seq"] == n and entry["job_prev"] == (leaves[n - 1].hex() if n else None))
        need(re.fullmatch("[0-9a-f]{32}", entry["salt"]) and entry["format"] == 1)
    return leaves


def check_journal(journal, origin, size, root):
    """Return the keys that lead by vouching to the last one."""
    keys, kinds, last = [], [], -1
    for entry, path in ((one["entry"], one["path"]) for one in journal):
        need(by_inclusion(leaf(entry), entry["seq"], size, path) == root)
        need(entry["kind"] == ("key" if entry["seq"] else "genesis") and entry["job"] is None and entry["seq"] > last)
        need(entry["seq"] or entry["body"]["origin"] == origin)
        kinds, last = [*kinds, entry["kind"]], entry["seq"]
        if entry["kind"] == "key":
            key, vouched = entry["body"]["key"], entry["body"].get("vouched")
            if vouched and keys:
                need(read_note(vouched)[0] == f"witnessmark key\n{key}\n" and signed(vouched, keys[-1:]))
            keys = [*keys, key] if vouched else [key]
    need("genesis" in kinds and keys, "incomplete")
    return keys


def check_proof(entries, leaves, proof):
    """Return the journal's origin, its keys, and the root at each size that is proven."""
    job, notes = entries[0]["job"], [proof["checkpoint"]]
    origin, size, root, pin = read_checkpoint(proof["checkpoint"], job)
    keys = check_journal(proof["journal"], origin, size, root)
    need(signed(proof["checkpoint"], keys) is not None, "wrong key")
    need(signed(proof["checkpoint"], keys))
    need(len(proof["inclusion"]) == len(entries), "incomplete")
    for entry, value, path in zip(entries, leaves, proof["inclusion"], strict=True):
        need(entry["seq"] < size, "incomplete")
        need(by_inclusion(value, entry["seq"], size, path) == root)
    check_pin(leaves, pin)
    known = {size: root}
    for note, path in ((one["checkpoint"], one["path"]) for one in proof["consistency"]):
        from_origin, first, old, old_pin = read_checkpoint(note, job)
        need(from_origin == origin and 0 < first <= size and signed(note, keys) is not False)
        need(by_consistency(first, size, path, old) == (old, root))
        check_pin(leaves, old_pin)
        known[first], notes = old, [*notes, note]
    need(set(notes).issuperset(notes_in(entries)), "incomplete")
    return origin, keys, known


def notes_in(entries):
    return [entry["body"].get("note") for entry in entries if entry["kind"] in ("checkpoint", "sheet")]


def check_anchor(entries, leaves, proven, anchor):
    if re.fullmatch("[0-9]+:[0-9a-f]{16,64}", anchor):
        count, _, head = anchor.partition(":")
        return check_pin(leaves, (int(count), head))
    origin, size, root, pin = read_checkpoint(anchor, entries[0]["job"])
    need(proven or pin, "incomplete")
    if proven:
        need(origin == proven[0] and signed(anchor, proven[1]) is not None, "wrong key")
        need(signed(anchor, proven[1]) and proven[2].get(size, root) == root)
        need(pin or (size in proven[2] and entries[0]["seq"] < size), "incomplete")
    return check_pin(leaves, pin)


def verify(data, anchor=None):
    """Return the verdict on the bytes of an evidence file."""
    try:
        document = json.loads(data, parse_int=whole, parse_float=whole, parse_constant=whole)
    except Verdict as verdict:
        return str(verdict)
    except ValueError:
        return "end damaged"
    try:
        need(document["format"] == 1 and set(document) == {"entries", "format", "proof"})
        need(spell(document) == data.removesuffix(b"\n"))
        entries, proof = document["entries"], document["proof"]
        leaves = check_entries(entries)
        proven = check_proof(entries, leaves, proof) if proof else None
        for note in [] if proof else notes_in(entries):
            check_pin(leaves, read_checkpoint(note, entries[0]["job"])[3])
        need(anchor or proof or not notes_in(entries), "incomplete")
        if anchor:
            check_anchor(entries, leaves, proven, anchor)
        return "intact" if anchor else "consistent, unanchored"
    except Verdict as verdict:
        return str(verdict)
    except (KeyError, TypeError, ValueError, AttributeError):
        return "altered"


if __name__ == "__main__":
    held = sys.argv[2] if len(sys.argv) > 2 else None
    if held and ":" not in held:
        held = Path(held).read_text(encoding="utf-8")
    print(verify(Path(sys.argv[1]).read_bytes(), held))
