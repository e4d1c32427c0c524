"""The register as tables, for pages, the admin and queries; `custody.register_tables` makes them of the register log.

Rows name one another by code, as the log does, and not by foreign key: a code stays on record, whatever becomes of
its row. Rules never read these tables; they read the register that `custody.registers` makes of the log.

`PersonalValue` alone is not rebuilt: it holds what the log has only a commitment of, and can be erased when the law
asks.
"""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

CODE = 64
SALT_BYTES = 16


class RegisterRow(models.Model):
    """What every row has: its jurisdiction, the number of the register log's line that set it last, and its service.

    `retired` says that it left service; what is on record keeps naming it.
    """

    jurisdiction = models.CharField(max_length=CODE)
    line = models.BigIntegerField()
    retired = models.BooleanField(default=False)

    class Meta:
        abstract = True


class Jurisdiction(RegisterRow):
    """An office that answers for elections. `jurisdiction` is its own code."""

    code = models.CharField(max_length=CODE, primary_key=True)
    name = models.TextField()
    timezone = models.CharField(max_length=64)

    class Meta:
        verbose_name = _("jurisdiction")
        verbose_name_plural = _("jurisdictions")
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "code"], name="custody_jurisdiction_own"),)

    def __str__(self) -> str:
        return self.name


class Election(RegisterRow):
    """One election. `date` is ISO 8601, local; the schedule is in Unix seconds."""

    code = models.CharField(max_length=CODE, primary_key=True)
    name = models.TextField()
    date = models.CharField(max_length=10)
    timezone = models.CharField(max_length=64)
    polls_open = models.BigIntegerField()
    polls_close = models.BigIntegerField()
    return_deadline = models.BigIntegerField()

    class Meta:
        verbose_name = _("election")
        verbose_name_plural = _("elections")
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "code"], name="custody_election_own"),)

    def __str__(self) -> str:
        return self.name


class Site(RegisterRow):
    """A place; `kind` is a word of `SiteKind`, `phone` the place's own."""

    code = models.CharField(max_length=CODE)
    name = models.TextField()
    kind = models.CharField(max_length=32)
    address = models.TextField(blank=True)
    phone = models.TextField(blank=True)

    class Meta:
        verbose_name = _("site")
        verbose_name_plural = _("sites")
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "code"], name="custody_site_own"),)

    def __str__(self) -> str:
        return self.name


class Person(RegisterRow):
    """A person as on record: code, affiliation, and commitments (hex) to what stands in `PersonalValue`."""

    code = models.CharField(max_length=CODE)
    affiliation = models.TextField(blank=True)
    name_commitment = models.CharField(max_length=64, blank=True)
    phone_commitment = models.CharField(max_length=64, blank=True)

    class Meta:
        verbose_name = _("person")
        verbose_name_plural = _("people")
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "code"], name="custody_person_own"),)

    def __str__(self) -> str:
        return self.code


class PersonalField(models.TextChoices):
    """What is kept of a person outside the log."""

    NAME = "name"
    PHONE = "phone"


class PersonalValue(models.Model):
    """A person's name or phone number, with the salt of its commitment. Deleting the row is all that erasing takes."""

    jurisdiction = models.CharField(max_length=CODE)
    person = models.CharField(max_length=CODE)
    field = models.CharField(max_length=16, choices=PersonalField)
    value = models.TextField()
    salt = models.BinaryField(max_length=SALT_BYTES)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["jurisdiction", "person", "field"], name="custody_personal_once"),
        )

    def __str__(self) -> str:
        return f"{self.person}/{self.field}"


class Key(RegisterRow):
    """One public key (base64) of one person; limits in Unix seconds, none where open-ended."""

    keyid = models.CharField(max_length=64, primary_key=True)
    person = models.CharField(max_length=CODE)
    public_key = models.CharField(max_length=44)
    valid_from = models.BigIntegerField(null=True)
    valid_until = models.BigIntegerField(null=True)
    revoked_at = models.BigIntegerField(null=True)

    class Meta:
        verbose_name = _("key")
        verbose_name_plural = _("keys")
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "keyid"], name="custody_key_own"),)
        indexes = (models.Index(fields=["jurisdiction", "person"], name="custody_key_person"),)

    def __str__(self) -> str:
        return self.keyid


class Item(RegisterRow):
    """An accountable item; `kind` is a word of `ItemKind`, `opens` holds the codes of what a key set opens."""

    code = models.CharField(max_length=8, primary_key=True)
    kind = models.CharField(max_length=32)
    description = models.TextField(blank=True)
    serial = models.TextField(blank=True)
    tag = models.TextField(blank=True)
    home_site = models.CharField(max_length=CODE, blank=True)
    seal_points = models.JSONField(default=list)
    opens = models.JSONField(default=list)

    class Meta:
        verbose_name = _("item")
        verbose_name_plural = _("items")
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "code"], name="custody_item_own"),)
        indexes = (models.Index(fields=["jurisdiction", "tag"], name="custody_item_tag", condition=~models.Q(tag="")),)

    def __str__(self) -> str:
        return self.code


class Assignment(RegisterRow):
    """A person's role in an election, at a site or (empty) on the move."""

    election = models.CharField(max_length=CODE)
    person = models.CharField(max_length=CODE)
    role = models.CharField(max_length=32)
    site = models.CharField(max_length=CODE, blank=True)

    class Meta:
        verbose_name = _("assignment")
        verbose_name_plural = _("assignments")
        constraints = (
            models.UniqueConstraint(
                fields=["jurisdiction", "election", "person", "role", "site"], name="custody_assignment_own"
            ),
        )
        indexes = (models.Index(fields=["election", "site"], name="custody_assignment_site"),)

    def __str__(self) -> str:
        return f"{self.person}/{self.role}"


class SealLot(RegisterRow):
    """Numbered seals of one maker: prefix + a number from `first` to `last`, padded with zeros to `width`."""

    maker = models.TextField()
    seal_class = models.CharField(max_length=1, blank=True)
    lot = models.TextField()
    prefix = models.TextField(blank=True)
    first = models.BigIntegerField()
    last = models.BigIntegerField()
    width = models.SmallIntegerField()
    issued_to = models.CharField(max_length=CODE, blank=True)
    election = models.CharField(max_length=CODE, blank=True)

    class Meta:
        verbose_name = _("part of a seal lot")
        verbose_name_plural = _("seal lots")
        constraints = (
            models.UniqueConstraint(
                fields=["jurisdiction", "maker", "lot", "prefix", "first"], name="custody_seal_lot_own"
            ),
        )

    def __str__(self) -> str:
        return f"{self.maker} {self.lot}"


class Kit(RegisterRow):
    """One item of the kit that a site is issued for an election."""

    election = models.CharField(max_length=CODE)
    site = models.CharField(max_length=CODE)
    item = models.CharField(max_length=8)

    class Meta:
        verbose_name = _("item of a kit")
        verbose_name_plural = _("kits")
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "election", "item"], name="custody_kit_own"),)
        indexes = (models.Index(fields=["election", "site"], name="custody_kit_site"),)

    def __str__(self) -> str:
        return f"{self.election}/{self.item}"


class PolicyVersion(RegisterRow):
    """A policy, every key spelt out, and the instant from which it is in force (Unix seconds)."""

    valid_from = models.BigIntegerField()
    document = models.JSONField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "valid_from"], name="custody_policy_own"),)

    def __str__(self) -> str:
        return str(self.valid_from)
