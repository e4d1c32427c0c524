"""Addresses below `/api/v1/`."""

from __future__ import annotations

from csp.decorators import csp_update
from django.urls import URLPattern, URLResolver, path, re_path
from django.views.decorators.cache import never_cache
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView

from api.errors import not_found
from api.views.entries import Entries
from api.views.items import Holdings, Item, ItemHistory, Items
from api.views.logs import Bundle, Checkpoint, Consistency, Proof, Tile
from api.views.photos import Photo
from api.views.pocket import Pocket
from api.views.record import Entry, Finding, Findings, Outstanding, Seal

app_name = "api"
LOG = "logs/<str:jurisdiction>/<str:log>"
# The page that shows the description draws its icons from its own style sheet.
PICTURES = csp_update({"img-src": ["data:"]})

urlpatterns: list[URLPattern | URLResolver] = [
    path("entries/", Entries.as_view(), name="entries"),
    path("entries/<str:entry_id>/", never_cache(Entry.as_view()), name="entry"),
    path("items/", never_cache(Items.as_view()), name="items"),
    path("items/<str:code>/", never_cache(Item.as_view()), name="item"),
    path("items/<str:code>/history/", never_cache(ItemHistory.as_view()), name="history"),
    path("holdings/", never_cache(Holdings.as_view()), name="holdings"),
    path("outstanding/", never_cache(Outstanding.as_view()), name="outstanding"),
    path("findings/", never_cache(Findings.as_view()), name="findings"),
    path("findings/<path:key>/", never_cache(Finding.as_view()), name="finding"),
    path("seals/<str:number>/", never_cache(Seal.as_view()), name="seal"),
    path("sites/<str:code>/pocket/", never_cache(Pocket.as_view()), name="pocket"),
    re_path(r"^photos/(?P<sha256>[0-9a-f]{64})$", Photo.as_view(), name="photo"),
    path(f"{LOG}/checkpoint", Checkpoint.as_view(), name="checkpoint"),
    path(f"{LOG}/proof/<str:entry_id>", never_cache(Proof.as_view()), name="proof"),
    path(f"{LOG}/consistency", never_cache(Consistency.as_view()), name="consistency"),
    path(f"{LOG}/tile/entries/<path:path>", Bundle.as_view(), name="bundle"),
    path(f"{LOG}/tile/<path:path>", Tile.as_view(), name="tile"),
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("docs/", PICTURES(SpectacularSwaggerSplitView.as_view(url_name="api:schema")), name="docs"),
    re_path(r"^(?P<path>.*)$", not_found, name="nothing"),
]
