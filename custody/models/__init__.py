"""The tables. Log rows are append-only, for `custody.store` alone; every other table is rebuilt from the logs.

Nothing is exported from here: who needs a table names its module, so that the import shows which kind it is.
"""

from __future__ import annotations

from custody.models import access as access
from custody.models import derived as derived
from custody.models import log as log
from custody.models import night as night
from custody.models import register as register
