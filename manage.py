#!/usr/bin/env python
"""Runs the commands of the site."""

import os
import sys

from readiness.commands import run

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "readiness.settings")
    run(sys.argv)
