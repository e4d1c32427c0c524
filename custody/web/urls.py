"""Addresses of the pages."""

from __future__ import annotations

from django.urls import path, re_path
from django.views.i18n import set_language

from custody.web import (
    access,
    badge_sign_in,
    containers,
    entries,
    findings,
    items,
    moment,
    night,
    night_report,
    people,
    photo,
    place_days,
    public,
    receipts,
    rights_page,
    rules,
    seals,
    search,
    second_factor,
    start,
    work,
    worker,
)

SHA256 = "(?P<sha256>[0-9a-f]{64})"

urlpatterns = [
    path("", start.start, name="start"),
    path("findings/", findings.list_findings, name="findings"),
    path("findings/<path:key>", findings.show_finding, name="finding"),
    path("search/", search.show_search, name="search"),
    path("moment/", moment.show_moment, name="moment"),
    path("rules/", rules.show_rules, name="rules"),
    path("rules/<str:code>/", rules.show_rule, name="rule"),
    path("items/<str:code>/", items.show_item, name="item"),
    # What stands on a label, in whatever case a phone's camera hands it over. Answers without a redirect.
    re_path(r"^[qQ]/(?P<code>[^/]+)/?$", items.show_item, name="label"),
    path("places/", place_days.show_places, name="places"),
    path("places/<str:code>/", place_days.show_place, name="place-day"),
    path("containers/<str:code>/", containers.show_container, name="container"),
    # Any text is a seal's number, also one with a slash in it.
    path("seals/<path:number>/", seals.show_seal, name="seal"),
    path("entries/<str:entry_id>/", entries.show_entry, name="entry"),
    path("receipts/<str:entry_id>/", receipts.show_receipt, name="receipt"),
    re_path(rf"^entries/(?P<entry_id>[^/]+)/photos/{SHA256}$", entries.show_photo, name="photo"),
    re_path(
        rf"^entries/(?P<entry_id>[^/]+)/photos/{SHA256}/small$", entries.show_photo, {"small": True}, name="small-photo"
    ),
    path("at-work/", work.place, name="work"),
    path("at-work/outbox/", work.outbox, name="work-outbox"),
    path("at-work/photo/", photo.read_photo, name="read-photo"),
    path("at-work/worker.js", worker.worker, name="worker"),
    path("at-work/words.js", work.words, name="work-words"),
    path("at-work/missing/", work.missing, name="work-missing"),
    *(path(f"at-work/{name}/", work.act, {"name": name}, name=f"work-{name}") for name in work.ACTS),
    path("night/", night.desk, name="night"),
    path("night/wall/", night.wall, name="night-wall"),
    path("night/report/", night_report.show_report, name="night-report"),
    path("night/report/follow-up/", night_report.follow_up, name="night-follow-up"),
    path("night/report.csv", night_report.report_csv, name="night-report-csv"),
    path("night/report.pdf", night_report.report_pdf, name="night-report-pdf"),
    path("night/places/<str:code>/", night.estimate, name="night-estimate"),
    path("people/", people.show_people, name="people"),
    path("people/<str:code>/", people.show_person, name="person"),
    path("people/<str:code>/badge/", people.enrol, name="enrol-badge"),
    path("people/<str:code>/badge/revoke/", people.revoke, name="revoke-badge"),
    path("people/<str:code>/badge/lift/", people.lift, name="lift-badge"),
    path("public/", public.show_public, name="public"),
    path("public/switch/", public.switch, name="public-switch"),
    path("rights/", rights_page.show_rights, name="rights"),
    path("sign-in/challenge/", badge_sign_in.challenge, name="sign-in-challenge"),
    path("sign-in/badge/", badge_sign_in.answer, name="sign-in-badge"),
    path("sign-in/who/", badge_sign_in.who, name="sign-in-who"),
    path("sign-in/", access.SignIn.as_view(), name="sign-in"),
    path("second-factor/", second_factor.second_factor, name="second-factor"),
    path("language/", set_language, name="set_language"),
    path("sign-out/", access.SignOut.as_view(), name="sign-out"),
]
