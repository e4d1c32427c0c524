"""Settings of a test run: those in earnest, in a data folder that is thrown away, without what only costs time."""

import atexit
import os
import shutil
import tempfile

for _name in [name for name in os.environ if name.startswith("CUSTODY_") and not name.startswith("CUSTODY_TEST_")]:
    if _name != "CUSTODY_REFERENCE":
        del os.environ[_name]
_folder = tempfile.mkdtemp(prefix="custody-test-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["CUSTODY_DATA"] = _folder

from custody.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# Static files come straight from where they are written, under their plain names.
WHITENOISE_USE_FINDERS = True
STATIC_ROOT.mkdir()  # noqa: F405
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
