"""The command line: `python manage.py …`."""
