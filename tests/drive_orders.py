"""Parallel passes with what lies between their ends, and how short their best order is known to be.

Run as a script, `python tests/drive_orders.py`, it works these lengths out anew and prints them.
That takes a quarter of an hour and the ortools package (9.15 here); the project does not need it.
Its CP-SAT solver is given an order as a closed round over passes entered at either end; it finds a
length, and a bound that no order is shorter than. It shares nothing with the project's own way.
"""

import numpy as np

PASSES = 40
SHORTEST_M = (
    1396.1,  # no less than 1396.1
    1772.6,  # no less than 1732.8
    1395.8,  # no less than 1395.8
    1101.4,  # no less than 1070.0
    1448.3,  # no less than 1448.3
    1345.2,  # no less than 1345.2
    1187.5,  # no less than 1187.5
    1857.4,  # no less than 1857.4
    1393.6,  # no less than 1344.6
    1328.7,  # no less than 1328.7
    1520.0,  # no less than 1464.8
    1258.5,  # no less than 1216.1
    1615.3,  # no less than 1615.3
    1425.5,  # no less than 1425.5
    1470.2,  # no less than 1470.2
    1584.9,  # no less than 1584.9
    1178.0,  # no less than 1178.0
    1204.7,  # no less than 1204.7
    1593.1,  # no less than 1555.1
    1634.2,  # no less than 1583.1
)
"""Of so many parallel passes of seed 0, 1 and so on, as this script printed it."""


def parallel_passes(count, seed):
    """Give meters between ends of parallel passes, from the gate and to it.

    Near ends, a level turn: flat where passes lie two radii apart or more, else a bulb of three
    arcs of one radius (plane geometry); and what one end lies farther out. Far ends, round the
    nearer side of the field.
    """
    random = np.random.default_rng(seed)
    apart_m, radius_m = random.uniform(4, 10), random.uniform(5, 9)
    bend_m, wave_m = random.uniform(30, 120, 2), random.uniform(0, 20, 2)
    slant, gate_m = random.uniform(-0.6, 0.6, 2), random.uniform(0, 300)
    across = np.arange(count) * apart_m
    along = [300 * end + slant[end] * across + wave_m[end] * np.sin(across / bend_m[end])
             for end in (0, 1)]  # fmt: skip
    along, end = np.column_stack(along).ravel(), np.tile([0, 1], count)
    across = np.repeat(across, 2)
    out = np.abs(along[:, None] - along)
    away = np.abs(across[:, None] - across)
    half_angle = np.arcsin(np.minimum((2 * radius_m + away) / (4 * radius_m), 1))
    bulb = radius_m * (3 * np.pi - 4 * half_angle)
    near = np.where(away < 2 * radius_m, bulb, away + (np.pi - 2) * radius_m) + out
    both = across[:, None] + across
    far = out + np.minimum(both, 2 * across.max() - both) + (np.pi - 2) * radius_m
    gate = np.abs(along - gate_m) + across
    return np.where(end[:, None] == end, near, far), gate, gate.copy()


def shortest(between_m, from_m, to_m, seconds=40):
    """Give the shortest length found and the bound below it, in meters."""
    from ortools.sat.python import cp_model  # noqa: PLC0415  (a script's alone)

    model = cp_model.CpModel()
    count = len(from_m)
    arcs, cost = [], []

    def arc(one, other, meters):
        taken = model.new_bool_var("")
        arcs.append((one, other, taken))
        cost.append(taken * round(100 * meters))

    for one in range(count):  # a pass entered at one end; its other end is one ^ 1
        arc(count, one, from_m[one])
        arc(one, count, to_m[one ^ 1])
        for other in range(count):
            if one // 2 != other // 2:
                arc(one, other, between_m[one ^ 1, other])
    for one in range(0, count, 2):
        taken = model.new_bool_var("")
        arcs += [(one, one, taken), (one + 1, one + 1, ~taken)]
    model.add_circuit(arcs)
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    solver.solve(model)
    return solver.objective_value / 100, solver.best_objective_bound / 100


if __name__ == "__main__":
    for seed in range(len(SHORTEST_M)):
        found = shortest(*parallel_passes(PASSES, seed))
        print(f"    {found[0]:.1f},  # no less than {found[1]:.1f}", flush=True)
