"""Static files under names that hold their hash, for ever in a browser's cache; also where one script imports another."""

from __future__ import annotations

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    """Rewrites the paths in `import` statements too, so that a module asks for exactly the modules it was made with."""

    support_js_module_import_aggregation = True
