"""The Django project: settings, addresses, server entry."""

import os

# Read when numpy is loaded. The matrices of the competency model are small, and several processes
# stand on few cores: with a thread for each core they wait for one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
