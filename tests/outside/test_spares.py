"""Tests of the oracle's way with spares."""

import itertools
import unittest

import farm as tables
import oracle
import oracle_spares
import verify
from test_outside import INSTANCES, random_farm, stated


class Spares(unittest.TestCase):
    def test_agrees_with_the_instances_that_state_their_optimum(self):
        """Spares by hand, and the rooms that are kept because the planner's plan was not the best there."""
        folders = [INSTANCES / "spares-two-of-three", *sorted(INSTANCES.glob("gap-*"))]
        self.assertGreaterEqual(len(folders), 4)
        for folder in folders:
            with self.subTest(folder.name):
                farm = tables.read(folder)
                result, plan = oracle.optimum(farm, 30)
                claims = {key: value for key, value in stated(folder).items() if key in result}
                self.assertIn("makespan_minutes", claims)
                self.assertEqual({key: result[key] for key in claims}, claims)
                self.assertEqual((result["status"], verify.verify(farm, plan)), ("optimal", []))

    def test_the_least_numbers_of_runs_are_all_that_suffice(self):
        """Of up to five runs, those suffice that are no fewer than one of the least; of the least, none can go."""
        tried = 0
        for seed in range(12):
            with self.subTest(seed=seed):
                farm = random_farm("spares", seed)
                enough, (shipment,) = oracle_spares.least(farm), farm.shipments
                if enough is None or len(enough.plates) > 4:
                    continue
                tried += 1
                for counts in itertools.product(range(6), repeat=len(enough.plates)):
                    if sum(counts) <= 5:
                        chance = oracle_spares.chance(farm, shipment, dict(zip(enough.plates, counts)))
                        covered = any(oracle_spares.reaches(counts, c) for c in enough.counts)
                        self.assertEqual(chance >= farm.confidence - 1e-7, covered, counts)
                for a, b in itertools.permutations(enough.counts, 2):
                    self.assertFalse(oracle_spares.reaches(a, b), (a, b))
        self.assertGreater(tried, 5)


if __name__ == "__main__":
    unittest.main()
