"""What office staff note down during the night: when a place is expected, who follows something up. Not evidence."""

from __future__ import annotations

from django.db import models

from custody.models.register import CODE


class Way(models.TextChoices):
    """How somebody put it: so many minutes after the polls closed, after the things left the place, or at a time."""

    CLOSING = "closing"
    DEPARTURE = "departure"
    TIME = "time"


class Estimate(models.Model):
    """When a place is expected back in an election, as typed: `value` is minutes, or Unix seconds of a time."""

    jurisdiction = models.CharField(max_length=CODE)
    log = models.CharField(max_length=CODE)
    election = models.CharField(max_length=CODE)
    site = models.CharField(max_length=CODE)
    way = models.CharField(max_length=16, choices=Way)
    value = models.BigIntegerField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["jurisdiction", "log", "election", "site"], name="custody_estimate_once"),
        )

    def __str__(self) -> str:
        return f"{self.election}/{self.site}"


class FollowUp(models.Model):
    """Who follows up a line of the night's report. `key` is the line's: it says nothing of whether it is settled."""

    jurisdiction = models.CharField(max_length=CODE)
    log = models.CharField(max_length=CODE)
    key = models.TextField()
    who = models.CharField(max_length=100)

    class Meta:
        constraints = (models.UniqueConstraint(fields=["jurisdiction", "log", "key"], name="custody_follow_up_once"),)

    def __str__(self) -> str:
        return self.key
