"""Addresses of the pages."""

from __future__ import annotations

from django.urls import path, re_path

from custody.web import (
    access,
    badge_sign_in,
    containers,
    entries,
    findings,
    items,
    people,
    photo,
    place_days,
    seals,
    second_factor,
    start,
    work,
    worker,
)

urlpatterns = [
    path("", start.start, name="start"),
    path("findings/", findings.list_findings, name="findings"),
    path("findings/<path:key>", findings.show_finding, name="finding"),
    path("items/", items.find_item, name="items"),
    path("items/<str:code>/", items.show_item, name="item"),
    # What stands on a label, in whatever case a phone's camera hands it over. Answers without a redirect.
    re_path(r"^[qQ]/(?P<code>[^/]+)/?$", items.show_item, name="label"),
    path("places/", place_days.show_places, name="places"),
    path("places/<str:code>/", place_days.show_place, name="place-day"),
    path("containers/<str:code>/", containers.show_container, name="container"),
    # Any text is a seal's number, also one with a slash in it.
    path("seals/<path:number>/", seals.show_seal, name="seal"),
    path("entries/<str:entry_id>/", entries.show_entry, name="entry"),
    path("work/", work.place, name="work"),
    path("work/outbox/", work.outbox, name="work-outbox"),
    path("work/photo/", photo.read_photo, name="read-photo"),
    path("work/worker.js", worker.worker, name="worker"),
    path("work/missing/", work.missing, name="work-missing"),
    *(path(f"work/{name}/", work.act, {"name": name}, name=f"work-{name}") for name in work.ACTS),
    path("people/", people.show_people, name="people"),
    path("people/<str:code>/", people.show_person, name="person"),
    path("people/<str:code>/badge/", people.enrol, name="enrol-badge"),
    path("people/<str:code>/badge/revoke/", people.revoke, name="revoke-badge"),
    path("people/<str:code>/badge/lift/", people.lift, name="lift-badge"),
    path("sign-in/challenge/", badge_sign_in.challenge, name="sign-in-challenge"),
    path("sign-in/badge/", badge_sign_in.answer, name="sign-in-badge"),
    path("sign-in/who/", badge_sign_in.who, name="sign-in-who"),
    path("sign-in/", access.SignIn.as_view(), name="sign-in"),
    path("second-factor/", second_factor.second_factor, name="second-factor"),
    path("sign-out/", access.SignOut.as_view(), name="sign-out"),
]
