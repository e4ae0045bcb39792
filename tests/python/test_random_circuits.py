"""Random circuits against an independent solver.

Each circuit is drawn from a seed, written in the notation, and solved twice: by `ohmline solve - --format json`, and here by modified
nodal analysis (C.-W. Ho, A. E. Ruehli, P. A. Brennan, "The modified nodal approach to network analysis", IEEE Transactions on Circuits
and Systems CAS-22, 1975) with numpy's dense solver. Diodes are found here by trying every state. What stands in series and in parallel
is found here from the definition alone: by taking wires away and looking whether the ends still hang together.

Usage: OHMLINE=path/to/ohmline python test_random_circuits.py [number of circuits] [first seed]
"""

import itertools
import json
import os
import random
import subprocess
import sys

import numpy as np

OHMLINE = os.environ.get("OHMLINE", "target/debug/ohmline")

# Relative to the largest value of its kind in the circuit; the resistances stay within seven powers of ten.
TOLERANCE = 1e-7


class Branch:
    """A two-terminal piece of an element. Positive current enters at `a`."""

    def __init__(self, name, a, b, law, **values):
        self.name, self.a, self.b, self.law, self.values = name, a, b, law, values
        self.current = self.voltage = 0.0


class Circuit:
    def __init__(self, seed):
        self.rng = random.Random(seed)
        self.lines = [f'circuit "Random circuit {seed}"']
        self.branches = []
        self.sources = set()
        self.pots = []
        self.count = 0
        self.inner = 0
        self.size = self.rng.randint(2, 9)
        self.draw()

    def name(self, letter):
        self.count += 1
        return f"{letter}{self.count}"

    def node(self):
        self.inner += 1
        return f"m{self.inner}"

    def ohms(self):
        return self.rng.choice([0.5, 1, 2.2, 4.7, 10, 33, 47, 100, 220, 1000, 4700, 10000])

    def volts(self):
        return self.rng.choice([1.2, 1.5, 3, 4.5, 6, 9, 12])

    def say(self, declaration, *path):
        self.lines.append(declaration)
        self.lines.append(" -- ".join(path))

    def resistive(self, a, b):
        """An element with resistance between two junctions, perhaps with something ideal in line."""
        rng, ohms = self.rng, self.ohms()
        kind = rng.choice(
            ["resistor", "resistor", "conductance", "lamp", "rated", "battery", "battery", "meter", "coil", "fuse",
             "ideal-in-line", "diode", "pot", "changeover", "loaded-voltmeter"]
        )
        if kind == "resistor":
            r = self.name("R")
            self.say(f"resistor {r} = {ohms} ohm", f"@{a}", r, f"@{b}")
            self.branches.append(Branch(r, a, b, "R", r=ohms))
        elif kind == "conductance":
            r = self.name("R")
            siemens = rng.choice([0.1, 0.25, 2, 5])
            self.say(f"resistor {r} = {siemens} S", f"@{a}", r, f"@{b}")
            self.branches.append(Branch(r, a, b, "R", r=1 / siemens))
        elif kind == "lamp":
            r = self.name("L")
            self.say(f"lamp {r} = {ohms} Ω", f"@{a}", r, f"@{b}")
            self.branches.append(Branch(r, a, b, "R", r=ohms))
        elif kind == "rated":
            r = self.name("L")
            watts, volts = rng.choice([0.5, 1, 3, 5]), self.volts()
            self.say(f"lamp {r} = {watts} W at {volts} V", f"@{a}", r, f"@{b}")
            self.branches.append(Branch(r, a, b, "R", r=volts * volts / watts))
        elif kind == "battery":
            r = self.name("B")
            emf = self.volts()
            self.say(f"battery {r} = {emf} V, internal {ohms} ohm", f"@{a}", f"+{r}-", f"@{b}")
            self.branches.append(Branch(r, a, b, "E", e=emf, r=ohms))
            self.sources.add(r)
        elif kind == "meter":
            r = self.name("A")
            self.say(f"ammeter {r} = {ohms} mohm", f"@{a}", f"-{r}+", f"@{b}")
            self.branches.append(Branch(r, b, a, "R", r=ohms / 1000))
        elif kind == "coil":
            r = self.name("K")
            self.say(f"inductor {r} = 10 mH, resistance {ohms} ohm", f"@{a}", r, f"@{b}")
            self.branches.append(Branch(r, a, b, "R", r=ohms))
        elif kind == "fuse":
            r = self.name("F")
            self.say(f"fuse {r} = 10 A, resistance {ohms} mohm", f"@{a}", r, f"@{b}")
            self.branches.append(Branch(r, a, b, "R", r=ohms / 1000))
        elif kind == "ideal-in-line":
            middle, r = self.node(), self.name("R")
            ideal = rng.choice(["switch", "ammeter", "fuse", "inductor", "source", "battery"])
            x = self.name("X")
            volts = self.volts()
            if ideal == "switch":
                self.lines.append(f"switch {x} = closed")
                item, law, values = x, "W", {}
            elif ideal == "ammeter":
                self.lines.append(f"ammeter {x}")
                item, law, values = f"+{x}-", "W", {}
            elif ideal == "fuse":
                self.lines.append(f"fuse {x} = 10 A")
                item, law, values = x, "W", {}
            elif ideal == "inductor":
                self.lines.append(f"inductor {x} = 5 mH")
                item, law, values = x, "W", {}
            elif ideal == "source":
                self.lines.append(f"source {x} = {volts} V")
                item, law, values = f"+{x}-", "E", {"e": volts, "r": 0}
                self.sources.add(x)
            else:
                self.lines.append(f"battery {x} = {volts} V")
                item, law, values = f"+{x}-", "E", {"e": volts, "r": 0}
                self.sources.add(x)
            # Without a junction of its own: the path alone puts the two in line.
            self.say(f"resistor {r} = {ohms} ohm", f"@{a}", item, r, f"@{b}")
            self.branches.append(Branch(x, a, middle, law, **values))
            self.branches.append(Branch(r, middle, b, "R", r=ohms))
        elif kind == "diode":
            drop = rng.choice([0.3, 0.7, 1.9])
            if sum(branch.law == "D" for branch in self.branches) >= 4:
                return self.resistive(a, b)
            d = self.name("D")
            self.say(f"diode {d} = {drop} V, resistance {ohms} ohm", f"@{a}", f"+{d}-", f"@{b}")
            self.branches.append(Branch(d, a, b, "D", drop=drop, r=ohms))
        elif kind == "pot":
            p, middle = self.name("P"), self.node()
            share = rng.choice([10, 25, 40, 75])
            self.lines.append(f"potentiometer {p} = {ohms} ohm at {share}%")
            self.lines.append(f"@{a} -- {p}.a")
            self.lines.append(f"{p}.b -- @{b}")
            third = f"j{rng.randrange(self.size)}"
            r = self.name("R")
            self.say(f"resistor {r} = 15 ohm", f"{p}.wiper", f"@{middle}", r, f"@{third}")
            self.branches.append(Branch(f"{p}:a", a, middle, "R", r=ohms * share / 100))
            self.branches.append(Branch(f"{p}:b", middle, b, "R", r=ohms * (100 - share) / 100))
            self.branches.append(Branch(r, middle, third, "R", r=15))
            self.pots.append(p)
        elif kind == "changeover":
            w, r, middle = self.name("W"), self.name("R"), self.node()
            throw = rng.choice("ab")
            other = f"j{rng.randrange(self.size)}"
            self.lines.append(f"changeover {w} = {throw}")
            self.lines.append(f"{w}.{throw} -- @{b}")
            self.lines.append(f"{w}.{'b' if throw == 'a' else 'a'} -- @{other}")
            self.say(f"resistor {r} = {ohms} ohm", f"@{a}", r, f"@{middle}", f"{w}.common")
            self.branches.append(Branch(r, a, middle, "R", r=ohms))
            self.branches.append(Branch(w, middle, b, "W"))
        else:
            v = self.name("U")
            self.say(f"voltmeter {v} = {ohms} kohm", f"@{a}", f"+{v}-", f"@{b}")
            self.branches.append(Branch(v, a, b, "R", r=ohms * 1000))

    def harmless(self, a, b):
        """Something that carries a fixed current, or none."""
        kind = self.rng.choice(["current", "voltmeter", "open", "capacitor"])
        if kind == "current":
            i = self.name("I")
            milli = self.rng.choice([1, 20, 150, 500])
            self.say(f"source {i} = {milli} mA", f"@{a}", f"+{i}-", f"@{b}")
            self.branches.append(Branch(i, a, b, "I", i=milli / 1000))
            self.sources.add(i)
        elif kind == "voltmeter":
            v = self.name("U")
            self.say(f"voltmeter {v}", f"@{a}", f"+{v}-", f"@{b}")
            self.branches.append(Branch(v, a, b, "O"))
        elif kind == "open":
            s = self.name("S")
            self.say(f"switch {s} = open", f"@{a}", s, f"@{b}")
            self.branches.append(Branch(s, a, b, "O"))
        else:
            c = self.name("C")
            self.say(f"capacitor {c} = 10 uF", f"@{a}", c, f"@{b}")
            self.branches.append(Branch(c, a, b, "C", c=10e-6))

    def draw(self):
        rng = self.rng
        # A plain resistor joins every junction to an earlier one, so the circuit hangs together whatever the diodes do.
        for k in range(1, self.size):
            a, b = f"j{k}", f"j{rng.randrange(k)}"
            r, ohms = self.name("R"), self.ohms()
            self.say(f"resistor {r} = {ohms} ohm", f"@{a}", r, f"@{b}")
            self.branches.append(Branch(r, a, b, "R", r=ohms))
        for _ in range(rng.randint(1, self.size + 2)):
            a, b = (f"j{rng.randrange(self.size)}" for _ in range(2))
            if a == b:
                continue
            if rng.random() < 0.75:
                self.resistive(a, b)
            else:
                self.harmless(a, b)
        self.lines.append("reference @j0")

    def text(self):
        return "\n".join(self.lines) + "\n"


def nodal(circuit, conducting):
    """Potentials and branch currents with these diodes conducting."""
    branches = circuit.branches
    nodes = sorted({n for branch in branches for n in (branch.a, branch.b)} - {"j0"})
    at = {n: k for k, n in enumerate(nodes)}
    stiff = [
        branch for branch in branches if branch.law == "W" or (branch.law == "E" and branch.values["r"] == 0)
    ]
    size = len(nodes) + len(stiff)
    matrix, right = np.zeros((size, size)), np.zeros(size)

    def conductance(a, b, siemens):
        for x, y, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            if x in at and y in at:
                matrix[at[x], at[y]] += sign * siemens

    def inject(n, amperes):
        if n in at:
            right[at[n]] += amperes

    for branch in branches:
        v = branch.values
        if branch.law == "R":
            conductance(branch.a, branch.b, 1 / v["r"])
        elif branch.law == "E" and v["r"] > 0:
            conductance(branch.a, branch.b, 1 / v["r"])
            inject(branch.a, v["e"] / v["r"])
            inject(branch.b, -v["e"] / v["r"])
        elif branch.law == "I":
            inject(branch.a, v["i"])
            inject(branch.b, -v["i"])
        elif branch.law == "D" and branch.name in conducting:
            conductance(branch.a, branch.b, 1 / v["r"])
            inject(branch.a, v["drop"] / v["r"])
            inject(branch.b, -v["drop"] / v["r"])
    for k, branch in enumerate(stiff):
        row = len(nodes) + k
        for n, sign in ((branch.a, 1), (branch.b, -1)):
            if n in at:
                matrix[at[n], row] += sign
                matrix[row, at[n]] += sign
        right[row] = branch.values.get("e", 0)
    solution = np.linalg.solve(matrix, right)
    potential = {n: solution[k] for n, k in at.items()}
    potential["j0"] = 0.0
    currents = {}
    for branch in branches:
        v = branch.values
        drop = potential[branch.a] - potential[branch.b]
        if branch.law == "R":
            currents[branch.name] = drop / v["r"]
        elif branch.law == "E" and v["r"] > 0:
            currents[branch.name] = (drop - v["e"]) / v["r"]
        elif branch.law == "I":
            currents[branch.name] = -v["i"]
        elif branch.law == "D":
            currents[branch.name] = (drop - v["drop"]) / v["r"] if branch.name in conducting else 0.0
        elif branch in stiff:
            currents[branch.name] = solution[len(nodes) + stiff.index(branch)]
        else:
            currents[branch.name] = 0.0
    return potential, currents


def operating_point(circuit):
    """The one state of the diodes that fits."""
    diodes = [branch for branch in circuit.branches if branch.law == "D"]
    fitting = []
    for states in itertools.product([False, True], repeat=len(diodes)):
        on = {branch.name for branch, state in zip(diodes, states) if state}
        potential, currents = nodal(circuit, on)
        if all(
            currents[d.name] > 1e-12 if d.name in on else potential[d.a] - potential[d.b] < d.values["drop"] - 1e-12
            for d in diodes
        ):
            fitting.append((potential, currents))
    # Diodes with resistance in a circuit of resistors and sources have exactly one state (each law grows with its voltage).
    assert len(fitting) <= 1, f"{len(fitting)} states of the diodes fit"
    return fitting[0] if fitting else None


def joined(edges, a, b):
    """Whether a path of edges leads from a to b."""
    reached, todo = {a}, [a]
    while todo:
        here = todo.pop()
        for x, y in edges:
            for near, far in ((x, y), (y, x)):
                if near == here and far not in reached:
                    reached.add(far)
                    todo.append(far)
    return b in reached


def parallel_partners(circuit):
    """For each branch the others between the same two points, what has no resistance and is not asked about contracted."""
    found = {}
    for one in circuit.branches:
        partners = set()
        for other in circuit.branches:
            if other is one:
                continue
            wires = [(w.a, w.b) for w in circuit.branches if w.law == "W" and w is not one and w is not other]

            def same(x, y):
                return x == y or joined(wires, x, y)

            shorted = same(one.a, one.b) or same(other.a, other.b)
            straight = same(one.a, other.a) and same(one.b, other.b)
            crossed = same(one.a, other.b) and same(one.b, other.a)
            if not shorted and (straight or crossed):
                partners.add(other.name)
        found[one.name] = partners
    return found


def live_branches(circuit):
    """The branches on a closed path, of those that can carry current at some moment."""
    able = [branch for branch in circuit.branches if branch.law != "O"]
    return [
        branch
        for branch in able
        if branch.a != branch.b and joined([(x.a, x.b) for x in able if x is not branch], branch.a, branch.b)
    ]


def series_partners(circuit):
    """For each live branch the others that a chain of points joins to it at which nothing else live meets."""
    live = live_branches(circuit)
    meets = {}
    for branch in live:
        for n in (branch.a, branch.b):
            meets.setdefault(n, []).append(branch)
    found = {branch.name: set() for branch in circuit.branches}
    for branch in live:
        chain, todo = {branch.name}, [branch]
        while todo:
            here = todo.pop()
            for n in (here.a, here.b):
                if len(meets[n]) == 2:
                    for other in meets[n]:
                        if other.name not in chain:
                            chain.add(other.name)
                            todo.append(other)
        found[branch.name] = chain - {branch.name}
    return found


def check(seed, totals):
    circuit = Circuit(seed)
    text = circuit.text()
    process = subprocess.run(
        [OHMLINE, "solve", "-", "--format", "json"], input=text.encode(), capture_output=True, timeout=60
    )
    assert process.returncode in (0, 1), process.stderr.decode()
    answer = json.loads(process.stdout)
    errors = [d["message"] for d in answer["diagnostics"] if d["severity"] == "error"]
    assert not errors, errors
    state = answer["cases"][0]
    point = operating_point(circuit)
    if point is None:
        totals["on the edge"] += 1
        return
    potential, currents = point
    volts = max((abs(v) for v in potential.values()), default=0) or 1.0
    amperes = max((abs(i) for i in currents.values()), default=0) or 1.0

    def same(mine, theirs, scale, what):
        assert theirs is not None, f"{what} is undetermined"
        assert abs(mine - theirs) <= TOLERANCE * scale, f"{what}: numpy {mine}, ohmline {theirs}"
        totals["numbers"] += 1

    for n, v in potential.items():
        if n in state["junctions"]:
            same(v, state["junctions"][n]["potential"], volts, f"potential at @{n}")
    for branch in circuit.branches:
        if ":" in branch.name:
            continue
        element = state["elements"][branch.name]
        drop = potential[branch.a] - potential[branch.b]
        # Sources count their current out of plus and their power as delivered.
        current = -currents[branch.name] if branch.name in circuit.sources else currents[branch.name]
        same(current, element["current"], amperes, f"current through {branch.name}")
        same(drop, element["voltage"], volts, f"voltage across {branch.name}")
        same(current * drop, element["power"], volts * amperes, f"power of {branch.name}")
        if branch.law == "C":
            same(branch.values["c"] * drop, element["charge"], branch.values["c"] * volts, f"charge of {branch.name}")
            same(
                branch.values["c"] * drop * drop / 2,
                element["energy"],
                branch.values["c"] * volts * volts,
                f"energy of {branch.name}",
            )
    for pot in circuit.pots:
        into = state["elements"][pot]["terminals"]
        same(currents[f"{pot}:a"], into["a"]["current"] if isinstance(into["a"], dict) else into["a"], amperes, f"into {pot}.a")
        same(
            -currents[f"{pot}:b"], into["b"]["current"] if isinstance(into["b"], dict) else into["b"], amperes, f"into {pot}.b"
        )
    # A potentiometer has two branches under one name: what stands beside it is compared in the Rust tests.
    plain = {branch.name for branch in circuit.branches if ":" not in branch.name}
    series, parallel = series_partners(circuit), parallel_partners(circuit)
    for name in plain:
        element = state["elements"][name]
        pots = set(circuit.pots)
        for mine, key in ((series, "series_with"), (parallel, "parallel_with")):
            theirs = set(element[key]) - pots
            expected = {n for n in mine[name] if ":" not in n}
            assert theirs == expected, f"{key} of {name}: from the definition {sorted(expected)}, ohmline {sorted(theirs)}"
            totals[key] += len(expected)


def main():
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 250
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    totals = {"numbers": 0, "series_with": 0, "parallel_with": 0, "on the edge": 0}
    failed = []
    for seed in range(first, first + number):
        try:
            check(seed, totals)
        except (AssertionError, KeyError, subprocess.TimeoutExpired) as error:
            failed.append(seed)
            print(f"seed {seed}: {type(error).__name__}: {error}")
            if len(failed) <= 3:
                print(Circuit(seed).text())
    print(f"{number} circuits: {totals}")
    assert number < 100 or totals["numbers"] > 10 * number, "too few numbers were compared"
    assert number < 100 or (totals["series_with"] > number // 4 and totals["parallel_with"] > number // 4)
    assert totals["on the edge"] * 20 < number, "too many circuits have a diode on the very edge of conducting"
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
