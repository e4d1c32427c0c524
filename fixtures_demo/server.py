"""How gunicorn serves the demo: one process with threads. Named by the command, as `python:…`.

On this machine only, or, with the certificate that `DEMO_CERTIFICATE` and `DEMO_KEY` name, for everybody on the network.
`DEMO_CLOCK` is by how many seconds the demo's clock is off ours, since a night may be started at a time of one's choice.
Only the demo's own server knows of it.
"""

import os
import time

from custody import clock

certfile, keyfile = os.environ.get("DEMO_CERTIFICATE"), os.environ.get("DEMO_KEY")
bind = f"{'0.0.0.0' if certfile else '127.0.0.1'}:{os.environ['DEMO_PORT']}"  # noqa: S104 - asked for by its user
workers, threads, worker_class = 1, 8, "gthread"
wsgi_app = "custody.wsgi:application"
proc_name = "custody-demo"
loglevel = "warning"
graceful_timeout = 3

_ahead = int(os.environ.get("DEMO_CLOCK", "0"))
if _ahead:
    clock.now = lambda: int(time.time()) + _ahead
