#!/usr/bin/env python
"""The command line: `python manage.py --help` lists what it can do."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "custody.settings")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        print(error, file=sys.stderr)
        sys.exit(2)
