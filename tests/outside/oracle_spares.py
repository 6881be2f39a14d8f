"""Spares in the oracle: a chance, turned into numbers of runs.

Asked for is a chance with which all parts of a shipment suffice. It depends only on how many runs of each plate give to
the shipment: giving all copies of a run, and all of the stock, only helps. So the numbers of runs that suffice are an
upward closed set; its least members are listed once, and the model lets the runs that give be one of them. A run beyond
that could be left out, unless it carries a changeover, and then it gives nothing.

Only for farms of one shipment without boxes: there nobody else wants the copies, and a box asks for no copy that is a
spare. Of the copies of a part the last to be usable goes into the shipment, as the rule on spares wants it.
"""

import math
from collections import Counter, defaultdict
from dataclasses import dataclass, replace

import firstplan
import planfiles
import verify

# Beyond so many runs the oracle does not try.
MOST = 12
ENDLESS = math.inf


class TooMany(Exception):
    """More runs than the oracle tries."""


@dataclass
class Enough:
    """The plates that can give to the shipment, and the least numbers of their runs that suffice."""

    plates: list
    counts: list

    def most_runs(self):
        return max(map(sum, self.counts), default=0)


def chance(farm, shipment, numbers):
    """The chance that all parts suffice with so many runs of each plate and all of the stock; of a plate with ENDLESS
    runs, whatever it holds does."""
    printer = {group: name for name, group in farm.groups.items()}
    certain = {part for plate, number in numbers.items() if number == ENDLESS for part in plate.copies}
    needs = {part: n for part, n in shipment.needs.items() if part not in certain}
    runs, allocation = [], Counter()
    for plate, number in numbers.items():
        for _ in range(0 if number == ENDLESS else number):
            name = f"R{len(runs)}"
            runs.append(planfiles.Run(name, printer[plate.group], plate.plate, 0, 0, 0, 0, 0, "", ""))
            for part in needs.keys() & plate.copies.keys():
                allocation[name, part, shipment.name] = plate.copies[part]
    for part in needs:
        if farm.stock.get(part):
            allocation[planfiles.STOCK, part, shipment.name] = farm.stock[part]
    what = replace(shipment, lines=[replace(shipment.lines[0], quantity=1, per_kit=needs, boxes=())])
    return verify.sufficient(verify.Room(farm, planfiles.Plan(runs, [], allocation, [])), what)


def least(farm):
    """The least numbers of runs that suffice; None where that takes too many."""
    if len(farm.shipments) != 1 or farm.pack_box:
        raise ValueError("the oracle knows spares for one shipment without boxes only")
    (shipment,) = farm.shipments
    able = {q for p in farm.groups for q in farm.plates_for(p)} | {r.plate for r in farm.running.values()}
    plates = sorted((q for q in able if set(q.copies) & set(shipment.needs)), key=lambda q: (q.plate, q.group))

    def rest(numbers):
        """The least numbers of runs of the further plates, with those of the first ones given."""
        if len(numbers) == len(plates):
            return {()} if chance(farm, shipment, dict(zip(plates, numbers))) >= farm.confidence - 1e-7 else set()
        at_most, found = rest((*numbers, ENDLESS)), set()
        for number in range(MOST + 1 if at_most else 0):
            further = rest((*numbers, number))
            found |= {(number, *r) for r in further if not any(reaches((number, *r), f) for f in found)}
            # With more of this plate the others are not spared anything more.
            if further == at_most:
                return found
        if at_most:
            raise TooMany
        return set()

    try:
        counts = sorted(rest(()))
    except TooMany:
        return None
    return Enough(plates, counts) if max(map(sum, counts), default=0) <= MOST else None


def reaches(counts, others):
    """Whether no number is below the other's."""
    return all(a >= b for a, b in zip(counts, others))


def suffice(model):
    """Rows of the model: the runs that give are one of the least that suffice, and give all that they have."""
    m, enough = model.m, model.enough
    (shipment,) = model.farm.shipments
    giving = defaultdict(list)
    for (_, part), count in model.from_stock.items():
        m.add(count == model.farm.stock.get(part, 0))
    for index, run in enumerate(model.sources):
        gives = [g for (_, _, i), (_, g) in model.allocated.items() if i == index]
        if not gives:
            continue
        used = m.new_bool_var("used")
        m.add_max_equality(used, gives)
        for plate, lit in run.plates.items():
            # What is used gives of every part that the shipment wants.
            for (_, part, i), (_, g) in model.allocated.items():
                if i == index and part in plate.copies:
                    m.add(g >= used + lit - 1)
            both = m.new_bool_var("gives as this plate")
            m.add(both <= used)
            m.add(both <= lit)
            m.add(both >= used + lit - 1)
            giving[plate].append(both)
    numbers = [m.new_int_var(0, MOST, "runs") for _ in enough.plates]
    for plate, number in zip(enough.plates, numbers):
        m.add(sum(giving[plate]) == number)
    m.add_allowed_assignments(numbers, enough.counts)


def first_plan(farm, enough):
    """A first plan like `firstplan.best`, of as many copies as the fewest runs that suffice give; or None."""
    if not enough.counts:
        return None
    (shipment,) = farm.shipments
    most = Counter()
    for plate, number in zip(enough.plates, min(enough.counts, key=sum)):
        for part, copies in plate.copies.items():
            most[part] += copies * number
    more = {p: max(0, most[p] + farm.stock.get(p, 0) - n) for p, n in shipment.needs.items()}
    extra = replace(shipment.lines[0], quantity=1, per_kit=more, boxes=())
    found = firstplan.best(replace(farm, shipments=[replace(shipment, lines=[*shipment.lines, extra])]))
    if found is None:
        return None
    opens = shipment.release or 0
    able = [q for _, q, load, _ in found[2] if (shipment.admits_running() if load is None else load >= opens)]
    counts = [sum(q is p for q in able) for p in enough.plates]
    return found if any(reaches(counts, c) for c in enough.counts) else None


def tell_apart(room):
    """Moves what is given beyond the need into the spares, the copies that are usable first."""
    (shipment,) = room.farm.shipments
    for part, need in shipment.needs.items():
        sources = [k for k in room.plan.allocation if k[1] == part]
        beyond = sum(room.plan.allocation[k] for k in sources) - need
        for key in sorted(sources, key=lambda k: (room.usable(k[0], part), k)):
            spare = min(beyond, room.plan.allocation[key])
            beyond -= spare
            room.plan.allocation[key] -= spare
            room.plan.spares[key] += spare
    room.plan.allocation = +room.plan.allocation
    room.plan.spares = +room.plan.spares
