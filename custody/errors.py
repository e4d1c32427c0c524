"""The errors that the custody log raises, each with a stable code for programs and words for people.

This module knows nothing of HTTP, Django or the terminal: the doors (pages, API, commands) decide how an error is shown.
"""

from __future__ import annotations

from typing import Any


class CustodyError(Exception):
    """Something that cannot be done. `code` is stable and lower-case with hyphens; `detail` is one plain sentence.

    `data` holds what a program needs to act on the error: the path of a member, the id of an entry, a limit.
    """

    def __init__(self, code: str, detail: str, **data: Any) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail
        self.data = data


class Refused(CustodyError):
    """Bytes that cannot become an entry. Refusing is for the form of the bytes alone: wrong handling is recorded, never refused.

    `data["path"]`, when present, names the member at fault, as in `release.people[1]`.
    """


REFUSAL_CODES: dict[str, str] = {
    "not-envelope": "The bytes are not a signed envelope of the expected form.",
    "unknown-type": "The payload type is not that of a custody entry.",
    "not-canonical": "The payload is not in canonical form (RFC 8785).",
    "missing-member": "A member that this kind of entry needs is missing.",
    "unknown-member": "The entry has a member that this kind does not know.",
    "wrong-type": "A member has a value of the wrong type or form.",
    "unknown-word": "A member holds a word outside its list.",
    "no-signature": "The envelope holds no signature.",
    "bad-signature": "A signature does not verify.",
    "unknown-key": "A signature was made with a key that nobody on the register holds.",
    "weak-key": "A key is one of the small-order keys that anybody can sign for.",
    "too-large": "The entry is larger than a line of the log may be.",
    "other-log": "The entry was signed for another log.",
    "id-taken": "Another entry already has this id.",
    "log-closed": "This log takes no more entries.",
}


class Unverified(CustodyError):
    """A check of the log, a proof or a signature failed. `data` names the place: a sequence number, a key id, a table."""
