"""What the runs of the oracle's model share: the operators, and the nights' limit on printers."""

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from itertools import pairwise

from ortools.sat.python import cp_model


@dataclass
class Task:
    """An operator's task in the model; exactly one of `lengths`' literals holds where it is present."""

    kind: str
    what: object
    start: object
    end: object
    lengths: list
    present: object
    # Each class of stretches it may be worked in, with the condition; None stands for those that overlap no other.
    classes: list = field(default_factory=list)


def operators(model):
    """Stretches that begin and end together are one class with so many operators. A class that overlaps no other
    needs no choice: the windows put a task into it. Where classes overlap, each task chooses."""
    m, latest = model.m, max(model.end, model.long_windows.end)
    classes = Counter((s.start, s.end) for s in model.farm.stretches if s.start <= latest)
    crowded = {c for c in classes if any(c != d and c[0] < d[1] and d[0] < c[1] for d in classes)}
    while True:
        # A task at the very end of a class would be taken for one of the class that begins there.
        more = {c for c in classes if c not in crowded and any(d[0] == c[1] for d in crowded)}
        if not more:
            break
        crowded |= more
    alone = sorted(set(classes) - crowded)
    members = defaultdict(list)
    for task in model.tasks:
        if not crowded:
            task.classes = [(None, task.present)]
        else:
            task.classes = [(key, m.new_bool_var("class")) for key in [None] * bool(alone) + sorted(crowded)]
            m.add(sum(lit for _, lit in task.classes) == task.present)
            for key, lit in task.classes:
                if key is None:
                    spans = cp_model.Domain.from_intervals([list(span) for span in alone])
                    m.add_linear_expression_in_domain(task.start, spans).only_enforce_if(lit)
                else:
                    m.add(task.start >= key[0]).only_enforce_if(lit)
                    m.add(task.end <= key[1]).only_enforce_if(lit)
        for key, lit in task.classes:
            members[key].append((task, lit))
    for key, tasks in members.items():
        most = classes[key] if key else max((classes[c] for c in alone), default=0)
        fill = [] if key else [(a, b, most - classes[a, b]) for a, b in alone if classes[a, b] < most]
        _capacity(m, tasks, most, fill)


def _capacity(m, tasks, most, fill):
    """At most `most` tasks at once, less what `fill` takes.

    A task of no length conflicts only strictly inside another one. Where there are such tasks, z of them, a minute
    is drawn as z + 1 slots: the i-th of them holds slot i of its minute alone, and a task [a, b) that takes time
    begins in the last slot of a and ends before the first of b.
    """
    points = [(t, lit) for t, lit in tasks if any(n == 0 for n, _ in t.lengths)]
    less = len(points)
    scale = less + 1
    spans = []
    for index, (task, lit) in enumerate(points):
        at, present = scale * task.start + index, _within(m, task, lit, False)
        spans.append(m.new_optional_fixed_size_interval_var(at, 1, present, "point"))
    for task, lit in tasks:
        sizes = [n for n, _ in task.lengths if n]
        if sizes:
            size = sizes[0] if len(sizes) == 1 else m.new_int_var(min(sizes), max(sizes), "size")
            spans.append(
                m.new_optional_interval_var(
                    scale * task.start + less,
                    scale * size - less,
                    scale * task.end,
                    _within(m, task, lit, True),
                    "task",
                )
            )
    demands = [1] * len(spans)
    for a, b, n in fill:
        spans.append(m.new_fixed_size_interval_var(scale * a, scale * (b - a), "off"))
        demands.append(n)
    if most == 1 and not fill:
        m.add_no_overlap(spans)
    elif spans:
        m.add_cumulative(spans, demands, most)


def _within(m, task, lit, positive):
    """Whether the task is worked in the class of `lit` and takes some time (or none)."""
    among = [present for n, present in task.lengths if (n > 0) == positive]
    if len(among) == len(task.lengths):
        return lit
    both = m.new_bool_var("both")
    m.add(both <= lit)
    m.add(both <= sum(among))
    m.add(both >= lit + sum(among) - 1)
    return both


def unattended(model):
    """At most `max_printers` printing at once while nobody is on shift; the rest of the rule is in the windows."""
    farm, m = model.farm, model.m
    count = len(farm.groups)
    if farm.max_printers is None or farm.max_printers >= count:
        return
    spans = [m.new_optional_interval_var(at, n, at + n, lit, "prints") for at, n, lit in model.prints]
    demands = [1] * len(spans)
    # Running plates count until they stop printing, but are not themselves held to the limit.
    ends = sorted({max(0, r.print_end) for r in farm.running.values()})
    for a, b in farm.unattended:
        cuts = sorted({a, b, *(e for e in ends if a < e < b)})
        for c, d in pairwise(cuts):
            printing = sum(r.print_end > c for r in farm.running.values())
            spans.append(m.new_fixed_size_interval_var(c, d - c, "nobody"))
            demands.append(count - max(0, farm.max_printers - printing))
    m.add_cumulative(spans, demands, count)
