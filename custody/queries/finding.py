"""One finding, for whoever is about to settle it: how it stands, and who has a part in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from custody import store
from custody.domain.judge import involved
from custody.queries.findings import EVERYTHING, ListedFinding, Wanted, choose_findings
from custody.queries.moments import look_at


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingToSettle:
    """`involved` are the people named in the entries that it rests on: what they say does not settle it."""

    listed: ListedFinding
    involved: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        more = {"election": self.listed.finding.election, "involved": list(self.involved)}
        return {**self.listed.as_json(), **more}


def get_finding(log: store.LogHead, key: str, *, now: int) -> FindingToSettle | None:
    """The finding of that key as it stands at `now`, settled ones too; `None` where there is none."""
    moment = look_at(log, now)
    listed = next(iter(choose_findings(moment, Wanted(key=key, statuses=EVERYTHING))), None)
    if listed is None:
        return None
    return FindingToSettle(listed=listed, involved=tuple(sorted(involved(listed.finding, moment.book().signed))))
