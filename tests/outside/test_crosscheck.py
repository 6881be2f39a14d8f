"""Tests of the cross-check: what a planner must not say. A stand-in for it says so."""

import json
import shlex
import tempfile
import unittest
from pathlib import Path

import crosscheck


def stand_in(folder, outcome, told="", note=""):
    """A program that finds no plan: what it prints, tells on standard error, and leaves as a note of a plan."""
    document = json.dumps({"notes": [note]})
    program = Path(folder) / "program"
    program.write_text(
        "#!/bin/sh\n"
        f'mkdir -p "$2/plan"\necho {shlex.quote(document)} >"$2/plan/plan.json"\n'
        f"echo {shlex.quote(told)} >&2\necho {shlex.quote(json.dumps({'outcome': outcome}))}\nexit 3\n",
        encoding="utf-8",
    )
    program.chmod(0o755)
    return program


class Crosscheck(unittest.TestCase):
    def faults(self, outcome, status, must_prove=True, **said):
        with tempfile.TemporaryDirectory() as folder:
            program = stand_in(folder, outcome, **said)
            return crosscheck.faults(program, Path(folder), {"status": status}, False, must_prove)

    def test_what_the_oracle_proves_is_to_be_proven(self):
        self.assertEqual(self.faults("infeasible", "infeasible"), ([], True))
        self.assertEqual(self.faults("unknown", "infeasible", must_prove=False), ([], False))
        for status in ("infeasible", "optimal"):
            found, both = self.faults("unknown", status)
            self.assertFalse(both)
            self.assertTrue(any(words.startswith("not proven") for words in found), found)
        self.assertEqual(self.faults("unknown", "unknown"), ([], False))

    def test_a_plan_that_the_planners_checker_refused_is_a_fault(self):
        """In the words of the solver (engine/hunt.rs) and of the command (refusal.rs), over two lines or on one."""
        next_best = "A better plan was found, but the checker refused it; this is the next best."
        for said in (
            {"note": next_best},
            {"told": f"note: {next_best}"},
            {"told": "plans were found, but the\n    checker refused every one of them"},
            {"told": "error: the planner made a plan that the checker refuses, so nothing was written"},
        ):
            with self.subTest(said), self.assertRaisesRegex(AssertionError, "its checker refuses"):
                self.faults("unknown", "unknown", **said)


if __name__ == "__main__":
    unittest.main()
