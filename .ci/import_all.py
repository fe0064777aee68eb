"""Imports every module of the installed keysense and asserts that the wheel holds what is not a module."""

from __future__ import annotations

import importlib
import importlib.util
import pkgutil
import sys
import zipfile

import keysense

NEEDED = (
    "keysense/py.typed",
    "keysense/practice.toml",
    "keysense/comparing/characters/sleepy.toml",
    "keysense/comparing/characters/proud.toml",
    "keysense/studio/migrations/env.py",
    "keysense/web/static/tokens.css",
    "keysense/web/static/LICENCES.md",
    "keysense/dashboards/take.py",
)

held = zipfile.ZipFile(sys.argv[1]).namelist()
missing = [name for name in NEEDED if name not in held]
if missing:
    sys.exit(f"the wheel lacks {', '.join(missing)}")
if not any(name.startswith("keysense/web/templates/") for name in held):
    sys.exit("the wheel lacks the page templates")

SCRIPTS = ("keysense.__main__", "keysense.studio.migrations.env")
count = 0
for module in pkgutil.walk_packages(keysense.__path__, "keysense."):
    if module.name in SCRIPTS or (module.name.endswith("port") and sys.version_info >= (3, 13)):
        continue
    if module.name.startswith("keysense.following.kernel") and not importlib.util.find_spec("numba"):
        continue  # for a compiler, which is an extra
    importlib.import_module(module.name)
    count += 1
sys.stdout.write(f"{count} modules imported\n")
