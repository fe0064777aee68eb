"""The English sentences of rooms that know nothing of words: reasons, faults, and what commands say.

They are read from the code itself and written to ``keysense/words/said_elsewhere.txt``, one a line, their slots
numbered, so that translators have them in the same catalogue as everything else.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

__all__ = ["FILE", "sentences"]

KEYSENSE = Path(__file__).resolve().parent.parent / "keysense"
FILE = KEYSENSE / "words" / "said_elsewhere.txt"
_NEVER = {"words", "web", "plots", "engraving", "__pycache__", "registered"}
_SAYING = {"missing", "not_compared", "_missing", "_none", "PhraseShape", "OvernightPair", "SightReading", "progress"}


def sentences() -> list[str]:
    """Every template, in order of the alphabet."""
    found: set[str] = set()
    for path in sorted(KEYSENSE.rglob("*.py")):
        if _NEVER & set(path.parts) or path.stem in _NEVER:
            continue
        tree, command = ast.parse(path.read_text("utf-8")), path.parent.name == "cli"
        said = _of_command(tree) if command else _of_room(tree, path.parent.name)
        found |= {one for one in said if _says_something(one) or (command and _is_word(one))}
        found |= _kinds(tree)
    return sorted(found)


def _of_room(tree: ast.Module, room: str) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            yield from _templates(node.exc)
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) in _SAYING:
            yield from _templates(node)
        elif isinstance(node, (ast.Assign, ast.Return, ast.AnnAssign)) and node.value is not None:
            says = isinstance(node, ast.Return) or any("sql" not in ast.unparse(one) for one in _targets(node))
            if says and room in ("findings", "comparing", "survey", "studio", "targets", "capture", "keysense", "sound",
                                 "papers", "following"):  # fmt: skip
                yield from _templates(node.value)


def _kinds(tree: ast.Module) -> set[str]:
    """What a sentence made elsewhere counts: ``what="chords"``."""
    given = [node for node in ast.walk(tree) if isinstance(node, ast.keyword) and node.arg == "what"]
    return {node.value.value for node in given if isinstance(node.value, ast.Constant)}


def _targets(node: ast.Assign | ast.AnnAssign) -> list[ast.expr]:
    return node.targets if isinstance(node, ast.Assign) else [node.target]


def _of_command(tree: ast.Module) -> Iterator[str]:
    """All that the functions of a command hold, but for their help."""
    for node in tree.body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            for part in node.body[1:] if ast.get_docstring(node) else node.body:
                yield from _templates(part)
        elif isinstance(node, ast.Assign):
            yield from _templates(node.value)


def _templates(node: ast.AST) -> Iterator[str]:
    """The strings and f-strings in a node, their slots numbered; of an f-string not its pieces once more."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.JoinedStr):
        yield _numbered(node)
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                yield from _templates(part.value)
    elif isinstance(node, ast.FunctionDef) and ast.get_docstring(node):
        for part in node.body[1:]:
            yield from _templates(part)
    else:
        for child in ast.iter_child_nodes(node):
            yield from _templates(child)


def _numbered(node: ast.JoinedStr) -> str:
    said, slot = "", 0
    for part in node.values:
        if isinstance(part, ast.Constant):
            said += str(part.value)
        else:
            slot += 1
            said += f"{{{slot}}}"
    return said


def _is_word(template: str) -> bool:
    """One word of a command with or without a slot, such as ``Take {1}: {2}.``; no name of an option or a key."""
    bare = _bare(template).strip(" ,.;:")
    return bare.isalpha() and (template != bare or bare.islower())


def _bare(template: str) -> str:
    return "".join(template.split("{")[0:1]) + "".join(part.partition("}")[2] for part in template.split("{")[1:])


def _says_something(template: str) -> bool:
    bare = _bare(template)
    return " " in bare.strip(" ,.;:") and any(letter.isalpha() for letter in bare) and "\n" not in template


if __name__ == "__main__":
    FILE.write_text("\n".join(sentences()) + "\n", "utf-8")
