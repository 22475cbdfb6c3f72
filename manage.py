#!/usr/bin/env python3
"""Every command of Latheside. This file is kept readable to old Pythons, so that one of them can say what is wrong."""

import os
import sys


def main(argv):
    if sys.version_info < (3, 11):
        sys.exit(
            "Latheside needs Python 3.11 or newer, and this is Python %d.%d. Install a newer one (Debian, Ubuntu: "
            "apt install python3.11; Fedora: dnf install python3.11; macOS: brew install python@3.11) and start "
            "again with it: python3.11 manage.py %s" % (sys.version_info[0], sys.version_info[1], " ".join(argv[1:]))
        )
    from shop import bootstrap

    bootstrap.keep_the_demo_apart(argv)
    bootstrap.get_ready(argv)
    for_tests = bootstrap.is_for_tests(argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings" if for_tests else "shop.settings")
    from django.core.management import execute_from_command_line

    if argv[1:2] == ["test"] and "--" not in argv:
        argv = argv[:2] + ["--"] + argv[2:]  # what follows is pytest's, see tests/runner.py
    try:
        execute_from_command_line(argv)
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped. The same command goes on from here.\n")
        sys.exit(130)  # what a shell expects of a program stopped by Ctrl-C


if __name__ == "__main__":
    main(sys.argv)
