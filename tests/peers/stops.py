#!/usr/bin/env python3
"""The integer programmes that schedules of stops are checked against.

    python3 tests/peers/stops.py

Prints the rows of `larger_trips_agree_with_an_integer_programme` and of
`chances_agree_with_an_integer_programme` in `src/plan/stops/search/tests.rs`: seed, visits, fewest
stops, and the least driving with that many. Instances come from the same generator of numbers,
written once more here; the programme is written from the question, not from the search.

Needs: Python 3 with numpy and scipy 1.9 or newer (`python3 -m venv somewhere && somewhere/bin/pip
install scipy`). Some ten seconds.
"""
import numpy as np
from scipy.optimize import LinearConstraint, Bounds, milp
from scipy.sparse import lil_matrix


def numbers(seed):
    """A linear congruential generator: 64 bits, the upper 31 of which are given."""
    state = seed
    while True:
        state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
        yield state >> 33


def drawn(seed):
    """A function that gives the next number below a bound."""
    source = numbers(seed)
    return lambda below: next(source) % below


def visits_of(below, days, places, kinds):
    """A third of all days and places that service anything: day, bits of stocks, km."""
    visits = []
    for day in range(1, days):
        for _ in range(places):
            serves, km = below(kinds), 1 + below(60)
            if below(3) == 0 and serves:
                visits.append((day, serves, km))
    return visits


def large(seed):
    """30 days, four stocks, 20 places, one life: limits, visits, days, lives that may be lost."""
    below = drawn(seed)
    limits = [4 + below(4), 5 + below(4), 6 + below(5), 9 + below(6)]
    return [limits], visits_of(below, 30, 20, 16), 30, 0


def chances(seed):
    """22 days, three stocks, eight places, ten lives of which one may be lost."""
    below = drawn(seed)
    lives = [[4 + below(4), 5 + below(4), 7 + below(5)] for _ in range(10)]
    return lives, visits_of(below, 22, 8, 8), 22, 1


def solve(lives, visits, end, may_lose):
    """Fewest stops, then the least km with that many.

    A binary per visit and, where lives may be lost, one per life. In a life that is kept, every
    window of `limit + 1` nights from one day to the last that is still before the end holds a
    service of that stock. At most one visit a day.
    """
    n, m = len(visits), len(lives)
    rows, least = [], []
    for life, limits in enumerate(lives):
        for stock, limit in enumerate(limits):
            # Serviced on day `start` (or at the outset), it lasts until `start + limit`.
            for start in range(0, end - limit):
                # If it is not serviced within (start, start + limit], it runs out, as the end
                # lies beyond; no earlier service can last longer than one on `start`.
                row = {
                    v: 1.0
                    for v, (day, serves, _) in enumerate(visits)
                    if start < day <= start + limit and serves >> stock & 1
                }
                row[n + life] = 1.0
                rows.append(row)
                least.append(1.0)
    for day in range(1, end):
        rows.append({v: -1.0 for v, visit in enumerate(visits) if visit[0] == day})
        least.append(-1.0)
    rows.append({n + life: -1.0 for life in range(m)})
    least.append(-float(may_lose))

    def run(cost, more=None):
        all_rows, all_least = rows + ([more[0]] if more else []), least + ([more[1]] if more else [])
        matrix = lil_matrix((len(all_rows), n + m))
        for i, row in enumerate(all_rows):
            for j, value in row.items():
                matrix[i, j] = value
        bound = LinearConstraint(matrix.tocsr(), np.array(all_least), np.inf)
        found = milp(cost, constraints=bound, integrality=np.ones(n + m), bounds=Bounds(0, 1))
        assert found.status == 0, found.message
        return round(found.fun)

    lost = np.zeros(m)
    stops = run(np.concatenate([np.ones(n), lost]))
    at_most = ({v: -1.0 for v in range(n)}, -float(stops))
    km = run(np.concatenate([[float(km) for _, _, km in visits], lost]), at_most)
    return stops, km


for name, instance, seeds in [("larger trips", large, 5), ("chances", chances, 6)]:
    print(name)
    for seed in range(1, seeds + 1):
        lives, visits, end, may_lose = instance(seed)
        stops, km = solve(lives, visits, end, may_lose)
        print(f"        ({seed}, {len(visits)}, {stops}, {km}.0),")
