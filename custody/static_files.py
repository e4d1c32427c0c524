"""Static files under names that hold their hash, for ever in a browser's cache; also where one script imports another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from whitenoise.storage import CompressedManifestStaticFilesStorage

OURS = ("custody/", "vendor/")


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    """Rewrites the paths in `import` statements too, so that a module asks for exactly the modules it was made with."""

    support_js_module_import_aggregation = True
    # A pass settles the names of one more layer of modules: as many as the longest chain of imports has. A ring would never end.
    max_post_process_passes = 20

    def compress_files(self, paths: Iterable[str]) -> Iterator[tuple[str, str]]:
        """What phones fetch, over networks that may be poor. The rest is for desks, and pressing it takes half a minute."""
        fetched = {name for name in self.hashed_files.values() if name.startswith(OURS)}
        yield from super().compress_files(fetched.intersection(paths))
