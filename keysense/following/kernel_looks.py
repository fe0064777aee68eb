"""The second look for a compiler: the very functions of `looks` and of what it calls, which read arrays then.

None of them holds a constant that is ever changed: what is compiled would keep it.
"""

from __future__ import annotations

from importlib import import_module
from types import FunctionType

from keysense.compiling import LOOKS
from keysense.following.kernel_types import outer, shared
from keysense.following.looks import look_twice as _look_twice

__all__ = ["look_twice"]

for _name in LOOKS:
    _module = import_module(f"keysense.following.{_name}")
    for _function in [*vars(_module).values()]:
        if isinstance(_function, FunctionType) and _function.__module__ == _module.__name__:
            shared(_function)

look_twice = outer(_look_twice)
