"""Places where something went differently once the drivers were there: at the door, on the road, at the desk, in the vault."""

from __future__ import annotations

from hashlib import sha256

from custody.domain.instants import dump_instant

from .place import Place
from .scribe import Party, party
from .times import MINUTE


class SealMisread(Place):
    """At the desk a 1 is read as a 7. Two minutes later the clerks read the seal again."""

    def arrive(self, at: int) -> None:
        things = self.load()
        seals = self.scribe.read(things)
        wrong = next(each for each in seals if each["item"] == self.boxes[0])
        wrong["number"] = wrong["number"][:-3] + "7" + wrong["number"][-2:]
        self.hand_in(at, things, seals=seals)
        self.scribe.inspect(at + 2 * MINUTE, [self.boxes[0]], self.clerks(), fresh_batch=True)


class SealLoose(Place):
    """At the desk a seal of a box gives under tug and twist; the clerks put a new one on."""

    def arrive(self, at: int) -> None:
        things, clerks = self.load(), self.clerks()
        seals = self.scribe.read(things)
        loose = next(each for each in seals if each["item"] == self.boxes[1])
        loose["state"] = "not_holding"
        self.hand_in(at, things, seals=seals)
        self.scribe.unseal(at + 4 * MINUTE, [self.boxes[1]], clerks, "replace_seal", points=[loose["point"]])
        self.scribe.seal(at + 5 * MINUTE, [self.boxes[1]], clerks)


class OtherSealInVault(Place):
    """In the vault a box bears another number than the desk read."""

    def put_into_vault(self, at: int, boxes: list[str], custodians: Party) -> None:
        other = self.left_over()[3]
        self.scribe.in_place[self.boxes[1], "back"] = other
        super().put_into_vault(at, boxes, custodians)


class SameParty(Place):
    """One of the drivers is ill, and who jumps in is of the other one's party."""

    def depart(self, at: int) -> None:
        self.usual, self.drivers = self.drivers, party("courier", self.drivers["people"][0], "D29-A")
        super().depart(at)

    def move_on(self, at: int) -> None:
        self.drivers = self.usual
        super().move_on(at)


class BoxKept(Place):
    """The drivers hand in everything but one box, which is still in the car."""

    def arrive(self, at: int) -> None:
        self.kept = self.boxes[0]
        self.hand_in(at, [code for code in self.load() if code != self.kept])
        self.scribe.handoff(self.times.night(188), [self.kept], self.drivers, self.clerks(2), "return")


class PaperDeparture(Place):
    """No light at the door: the departure is on paper, and typed in at the desk from a form that nobody's badge signed."""

    def say_closed(self, at: int) -> None:
        super().say_closed(at)
        self.scribe.incident(at + 40, "power_loss", self.by())

    def depart(self, at: int) -> None:
        clerk = f"{self.way.station}-{(self.number + 1) % 5 + 1}"
        self.hand_out(
            at,
            paper="T-013",
            transcriber=clerk,
            photos=[sha256(b"the transfer form of the thirteenth place").hexdigest()],
            signed_by=[clerk],
            received=self.times.night(self.way.arrives - 3),
        )


class CaseOpen(Place):
    """In a hurry: the case leaves unsealed. The desk seals it."""

    def seal_case(self, at: int) -> None:
        pass

    def arrive(self, at: int) -> None:
        super().arrive(at)
        self.scribe.seal(at + 3 * MINUTE, [self.case], self.clerks())


class KeyForgotten(Place):
    """The chief brings one of the two sets of keys; the other hangs by the door of the hall."""

    def bring_keys(self, at: int) -> None:
        self.scribe.handoff(at, self.keys[:1], self.by(1), self.clerks(1), "return")


class KeysWithCase(Place):
    """The drivers get the keys of the case together with the case."""

    def load(self) -> list[str]:
        return [*super().load(), self.keys[1]]

    def bring_keys(self, at: int) -> None:
        self.scribe.handoff(at, self.keys[:1], self.by(1), self.clerks(1), "return")


class OneEndSigned(Place):
    """The drivers are off before they have signed for what they took."""

    def depart(self, at: int) -> None:
        self.hand_out(at, signed_by=self.by()["people"])


class SignedLater(Place):
    """The drivers sign on a phone of their own, and what they signed comes in a few minutes later: nothing is wrong."""

    def depart(self, at: int) -> None:
        line = self.hand_out(at, signed_by=self.by()["people"])
        self.scribe.sign_later(line, *self.drivers["people"], received=line.received + 4 * MINUTE)


class ClockBehind(Place):
    """A tablet runs half an hour ahead: by the record the desk took in what had not left. Both ends put it right."""

    def depart(self, at: int) -> None:
        line = self.hand_out(at + 30 * MINUTE, received=self.times.night(self.way.arrives + 8))
        both = party(self.role, self.crew[0], self.drivers["people"][0], site=self.code)
        when = self.times.night(self.way.arrives + 11)
        reason = "The tablet's clock was half an hour ahead."
        self.scribe.amend(when, line, both, {"at": dump_instant(at)}, reason, site=None, fresh_batch=True)


class PhoneAhead(Place):
    """The phone at the door runs twenty-five minutes ahead."""

    def depart(self, at: int) -> None:
        self.hand_out(at + 25 * MINUTE, received=at + 9)
