"""The changes that `tests.mutants` makes are changes, and those called equivalent still stand in the code."""

from __future__ import annotations

import ast
import tomllib

from tests.mutants.__main__ import EQUIVALENT
from tests.mutants.changes import mutants, mutated
from tests.mutants.running import TREE, Reached

SOURCE = '''"""Of a module."""
MOST: int = 3
def cut(many: list[int] | None, at: float = 0.5) -> list[int]:
    """No change of a type or of documentation."""
    if not many or len(many) <= MOST and at != 1.5:
        return []
    many.sort()
    return many[: len(many) // 2]
'''


def test_each_change_is_one_that_a_test_could_notice() -> None:
    """By line, what stood there and what stands there then."""
    changes = {(one.line, one.was, one.becomes) for one in mutants("m.py", SOURCE)}
    assert {
        (2, "3", "4"),
        (2, "3", "2"),
        (3, "0.5", "1.0"),
        (3, "0.5", "0.25"),
        (5, "not many", "many"),
        (5, "len(many) <= MOST", "len(many) < MOST"),
        (5, "at != 1.5", "at == 1.5"),
        (5, "len(many) <= MOST and at != 1.5", "len(many) <= MOST or at != 1.5"),
        (6, "return []", "return None"),
        (7, "many.sort()", "pass"),
        (8, "return many[:len(many) // 2]", "return None"),
        (8, ":len(many) // 2", ":len(many) // 2 + 1"),
        (8, "len(many) // 2", "len(many) * 2"),
    } <= changes
    assert {line for line, _, _ in changes} == {2, 3, 5, 6, 7, 8}


def test_each_changed_file_has_just_that_change() -> None:
    """And can be read."""
    plain = ast.unparse(ast.parse(SOURCE))
    for one in mutants("m.py", SOURCE):
        changed = mutated(SOURCE, one)
        assert changed != plain
        assert one.becomes in changed
        differ = [pair for pair in zip(changed.splitlines(), plain.splitlines(), strict=True) if pair[0] != pair[1]]
        assert len(differ) == 1


def test_the_tests_that_reach_a_change_are_run_the_quickest_first() -> None:
    """All of a file where what they share reaches it; where none is seen to, any."""
    [first, *_] = [one for one in mutants("m.py", SOURCE) if one.line == 7]
    seconds = {"a.py::one": 2.0, "a.py::two": 1.0, "b.py::three": 0.5}
    assert Reached("", seconds, {"m.py": {7: ["a.py::one"]}}).tests(first) == ["a.py::one"]
    assert Reached("", seconds, {"m.py": {7: ["a.py"], 5: ["b.py::three"]}}).tests(first) == ["a.py::two", "a.py::one"]
    assert Reached("", seconds, {"m.py": {7: [""], 5: ["a.py::one"]}}).tests(first) == ["a.py::one"]
    assert Reached("", seconds, {}).tests(first) == ["b.py::three", "a.py::two", "a.py::one"]


def test_changes_called_equivalent_can_still_be_made() -> None:
    """Else they are of a line that has gone, and go too."""
    for one in tomllib.loads(EQUIVALENT.read_text(encoding="utf-8"))["mutant"]:
        source = (TREE / one["file"]).read_text(encoding="utf-8")
        found = {
            change.becomes
            for change in mutants(one["file"], source)
            if (change.text, change.was) == (one["line"], one["was"])
        }
        assert set(one["becomes"]) <= found, one["line"]
