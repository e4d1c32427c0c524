"""`verify` on a database whose triggers somebody took away: it says so, and signs nothing."""

from __future__ import annotations

import io
import json

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from custody import store
from tests.services.test_tampering import take_triggers_away
from tests.world import World
from tests.worlds_on_record import put_deeds, put_register


def put_world() -> None:
    world = World(places=1)
    world.prepare("P01")
    with transaction.atomic():
        put_register(world)
        put_deeds(store.make_log("ALDER", "main", store.LogKind.MAIN), world.lines())


def test_verify_signs_a_checkpoint_of_each_log_that_is_well(own_database: BaseDatabaseWrapper) -> None:
    put_world()
    out = io.StringIO()
    call_command("verify", format="json", stdout=out)
    document = json.loads(out.getvalue())
    assert document["ok"] is True
    assert [each["checkpoint"].split("\n")[0] for each in document["logs"]] == [
        f"custody.example/{each['log']}" for each in document["logs"]
    ]


def test_verify_names_triggers_that_are_absent_and_signs_nothing(own_database: BaseDatabaseWrapper) -> None:
    put_world()
    take_triggers_away()
    out = io.StringIO()
    with pytest.raises(CommandError) as raised:
        call_command("verify", format="json", stdout=out, stderr=io.StringIO())
    document = json.loads(out.getvalue())
    assert raised.value.returncode == 1
    assert {problem["code"] for problem in document["problems"]} == {"no-trigger"}
    assert "custody_line_no_update" in {problem["key"] for problem in document["problems"]}
    assert [each["checkpoint"] for each in document["logs"]] == [None, None]
