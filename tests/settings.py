"""Settings of the tests: those of the site in development, made fast and alone."""

import os
import tempfile
from pathlib import Path

os.environ["DJANGO_DEBUG"] = "1"
os.environ["READINESS_DEMO"] = os.environ["HOST"] = os.environ["SECRET_KEY"] = ""
os.environ["READINESS_TIME_ZONE"] = ""

# Below the lines that decide what it reads.
from readiness.settings import *
from readiness.settings import DATABASES, STORAGES

if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # A file, since threads of a database in memory share one connection and meet none of the locks
    # of a service; its own for each process, so that two runs do not meet at all. No test cuts the
    # power, so nothing waits for the disk.
    _file = Path(tempfile.gettempdir()) / f"readiness-test-{os.getpid()}.sqlite3"
    DATABASES["default"]["TEST"] = {"NAME": str(_file)}
    DATABASES["default"]["OPTIONS"]["init_command"] += "PRAGMA synchronous=OFF;"

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
