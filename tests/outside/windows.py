"""The minutes at which a load or a harvest may be, for one printer and plate, whatever else the room does."""

import numpy as np


class Windows:
    """Minute-exact windows up to `end`; every rule that concerns one run alone is in them."""

    def __init__(self, farm, end):
        self.farm, self.end = farm, end
        self.down = {p: _covered(farm.downtime.get(p, []), end) for p in farm.groups}
        self.cache = {}

    def staffed(self, length):
        """For each minute t, whether one operator can work [t, t + length) without a pause."""
        key = ("staffed", length)
        if key not in self.cache:
            ok = np.zeros(self.end + 1, dtype=bool)
            for s in self.farm.stretches:
                if s.end - length >= s.start:
                    ok[s.start : s.end - length + 1] = True
            self.cache[key] = ok
        return self.cache[key]

    def print_from(self, printer, plate, change):
        """Minutes at which the plate may start to print, its load (with `change` minutes of changeover) done."""
        key = ("print", printer, plate, change)
        if key not in self.cache:
            farm, load = self.farm, plate.load + change
            span = load + plate.minutes + plate.cool
            ok = np.zeros(self.end + 1, dtype=bool)
            if span <= self.end:
                starts = self.staffed(load) & self._clear(printer, span)
                ok[load:] = starts[: self.end + 1 - load]
                ok[self.end - plate.minutes - plate.cool + 1 :] = False
                limit = farm.max_minutes if farm.unattended_allowed else 0
                if limit is not None:
                    at = np.arange(self.end + 1)
                    for a, b in farm.unattended:
                        ok &= np.minimum(at + plate.minutes, b) - np.maximum(at, a) <= limit
            self.cache[key] = ok
        return self.cache[key]

    def harvest_from(self, printer, length):
        """Minutes at which a harvest of that length may start."""
        key = ("harvest", printer, length)
        if key not in self.cache:
            ok = self.staffed(length) & self._clear(printer, length)
            ok[self.end - length + 1 :] = False
            self.cache[key] = ok
        return self.cache[key]

    def _clear(self, printer, length):
        """For each minute t, whether [t, t + length) does not touch a downtime of the printer."""
        if length == 0:
            # Of no length: it conflicts strictly inside a downtime only.
            ok = np.ones(self.end + 1, dtype=bool)
            for a, b in self.farm.downtime.get(printer, []):
                ok[max(a + 1, 0) : max(b, 0)] = False
            return ok
        total = np.concatenate([[0], np.cumsum(self.down[printer])])
        at = np.arange(self.end + 1)
        return total[np.minimum(at + length, self.end)] == total[at]


def intervals(ok):
    """A boolean array of minutes as closed intervals."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], ok.astype(np.int8), [0]])))
    return [[int(a), int(b) - 1] for a, b in zip(edges[::2], edges[1::2])]


def _covered(spans, end):
    ok = np.zeros(end, dtype=np.int64)
    for a, b in spans:
        ok[max(a, 0) : max(b, 0)] = 1
    return ok
