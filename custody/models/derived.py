"""Derived tables: what was worked out from a log, kept for quick answers. Disposable: `rebuild` makes them again from nothing.

Written by `custody.projections` alone, in the transaction that appends. Texts named `state` and `body` are the domain's own JSON
(`domain.state_codec`). Instants are Unix seconds; `FOREVER` stands for an interval that has not ended.
"""

from __future__ import annotations

from django.db import models

from custody.models.log import Log

FOREVER = 2**63 - 1


class DerivedRow(models.Model):
    """What every row has: the log that it was worked out from."""

    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="+", db_index=False)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{self._meta.model_name} {self.pk}"


class OnRecord(DerivedRow):
    """One entry as the replay has it: its time in custody order, what it is about, and the keys of the states it touched."""

    pk = models.CompositePrimaryKey("log_id", "entry_id")
    entry_id = models.CharField(max_length=36)
    time = models.BigIntegerField()
    at = models.BigIntegerField()
    received = models.BigIntegerField()
    seq = models.BigIntegerField()
    kind = models.CharField(max_length=16)
    election = models.TextField()
    site = models.TextField(blank=True)
    keys = models.TextField()

    class Meta:
        indexes = (models.Index(fields=["log", "time", "entry_id"], name="custody_onrecord_order"),)


class Version(DerivedRow):
    """The state under one key from one entry until the next that touches it."""

    pk = models.CompositePrimaryKey("log_id", "key", "time", "entry_id")
    key = models.TextField()
    time = models.BigIntegerField()
    entry_id = models.CharField(max_length=36)
    until = models.BigIntegerField()
    state = models.TextField()

    class Meta:
        indexes = (models.Index(fields=["log", "key", "until"], name="custody_version_until"),)


class Amendment(DerivedRow):
    """Which entries name which others as amended, as they were signed."""

    pk = models.CompositePrimaryKey("log_id", "target", "entry_id")
    target = models.CharField(max_length=36)
    entry_id = models.CharField(max_length=36)


class FindingRow(DerivedRow):
    """One finding of one scope. `status` and what settled it are as of everything on record; `at` may lie ahead."""

    scope = models.TextField()
    key = models.TextField()
    rule = models.CharField(max_length=32)
    severity = models.CharField(max_length=8)
    at = models.BigIntegerField()
    election = models.TextField()
    site = models.TextField(blank=True)
    status = models.CharField(max_length=8)
    settled_by = models.CharField(max_length=36, blank=True)
    settled_at = models.BigIntegerField(null=True)
    referred_by = models.CharField(max_length=36, blank=True)
    body = models.TextField()

    class Meta:
        indexes = (
            models.Index(fields=["log", "scope"], name="custody_finding_scope"),
            models.Index(fields=["log", "key"], name="custody_finding_key"),
            models.Index(fields=["log", "status", "at"], name="custody_finding_status"),
        )


class Withdrawn(DerivedRow):
    """A finding that was once on show and then proved not to be so: a journal, in order of arrival."""

    key = models.TextField()
    withdrawn_by = models.CharField(max_length=36, blank=True)
    withdrawn_at = models.BigIntegerField()
    body = models.TextField()

    class Meta:
        indexes = (models.Index(fields=["log", "key"], name="custody_withdrawn_key"),)


class OwedRow(DerivedRow):
    """An item that a polling place owes back and that is not back yet, with who holds it."""

    pk = models.CompositePrimaryKey("log_id", "election", "site", "item")
    election = models.TextField()
    site = models.TextField()
    item = models.TextField()
    kind = models.CharField(max_length=16)
    since = models.BigIntegerField()
    container = models.TextField(blank=True)
    holder = models.TextField(blank=True)

    class Meta:
        indexes = (models.Index(fields=["log", "item"], name="custody_owed_item"),)


class PlaceRow(DerivedRow):
    """A polling place's clock in one election: when its polls closed, and the last entry made there."""

    pk = models.CompositePrimaryKey("log_id", "election", "site")
    election = models.TextField()
    site = models.TextField()
    closed = models.BigIntegerField()
    last_here = models.BigIntegerField(null=True)
    deadline = models.BigIntegerField()


class BackRow(DerivedRow):
    """An item that a polling place owed and that came back, and when: what the curve of the night is drawn from."""

    pk = models.CompositePrimaryKey("log_id", "election", "site", "item")
    election = models.TextField()
    site = models.TextField()
    item = models.TextField()
    kind = models.CharField(max_length=16)
    back = models.BigIntegerField()

    class Meta:
        indexes = (models.Index(fields=["log", "item"], name="custody_back_item"),)
