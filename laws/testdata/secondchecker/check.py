#!/usr/bin/env python3
"""A second opinion on a job, written from the standards' formulas and tables.

Reads jobs, one JSON object a line, from standard input. Prints one line a
quantity: number of the job, path, quantity, value in SI units (mm2 for areas),
with a tab between. A quantity whose inputs are missing, or that no table
covers, is left out. It shares no code and no table with the program it checks:
the tables under facts/ are copies of their own, with a source in every row.
"""
import csv, json, math, os, re, sys

HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "facts")


def rows(name):
    with open(os.path.join(HERE, name + ".csv"), encoding="utf-8") as f:
        return list(csv.DictReader(f))


# --- reading values as people write them -----------------------------------

PREFIX = {"µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6}
UNITS = ["Ω·m", "K·m/W", "mm²", "°C", "Ω", "A", "V", "W", "s", "m", "%"]


def num(text):
    """The number of a value, in its SI unit; None when there is none."""
    if text is None:
        return None
    if isinstance(text, dict):
        text = text.get("value")
        if text is None:
            return None
    text = re.sub(r"\(.*\)", "", str(text)).strip()
    got = re.match(r"^(-?[0-9.]+)\s*(.*)$", text)
    if not got:
        return None
    value, unit = float(got[1]), got[2].strip()
    if unit in ("", "mm²", "°C", "K·m/W", "Ω·m"):
        return value
    if unit == "mm":
        return value / 1000
    for base in UNITS:
        if unit.endswith(base) and unit[: -len(base)] in PREFIX:
            return value * PREFIX[unit[: -len(base)]]
    return None


# --- tables ----------------------------------------------------------------

COPPER = {}  # mm2 -> ohm/m at 20 C, IEC 60228 class 2
ALUMINIUM = {}
for r in rows("conductors"):
    if r["class"].startswith("2"):
        (ALUMINIUM if r["material"].startswith("alum") else COPPER)[float(r["csa_mm2"])] = float(r["r20_mohm_per_m"]) / 1000

KIND = {"single-core": "singles", "multicore non": "multicore", "multicore steel": "armoured", "flat twin": "flat twin and cpc"}


def kind_of(text):
    return next(v for k, v in KIND.items() if text.startswith(k))


RATING = {}  # (construction, 70 or 90, method, loaded, mm2) -> It
for r in rows("ratings"):
    methods = [r["method"]]
    if r["method"].startswith("D"):
        methods = ["D duct", "D buried"]
    if r["method"].startswith("G"):
        methods = ["G horizontal" if "horizontal" in r["method"] else "G vertical"]
    for m in methods:
        for n in re.findall(r"[23]", r["loaded_conductors"].split("(")[0]):
            RATING[kind_of(r["construction"]), r["insulation"][:2], m.split(" (")[0], int(n), float(r["csa_mm2"])] = float(r["amps"])

DROP = {}  # (construction, 70 or 90, group of methods, phases, mm2) -> z
for r in rows("voltdrop"):
    text = r["construction"]
    kind = "singles" if text.startswith("single") else "armoured" if "SWA" in text else "flat twin and cpc" if "flat" in text else "multicore"
    DROP[kind, "90" if "90C" in text else "70", r["method"], 3 if r["circuit"].startswith("3") else 1, float(r["csa_mm2"])] = float(r["z_mV_A_m"]) / 1000

ARMOUR = {}  # (cores, mm2) -> ohm/m at 20 C, BS 5467
TWIN = {}  # line mm2 -> cpc mm2, BS 6004
for r in rows("adiabatic"):
    if r["item"].startswith("SWA armour d.c."):
        ARMOUR[int(r["condition"][0]), float(r["size_mm2_or_range"])] = float(r["value"]) / 1000
    if r["item"].startswith("flat twin"):
        TWIN[float(r["size_mm2_or_range"])] = float(r["value"])

REACTANCE = {}  # (construction, 70 or 90, group, mm2) -> ohm/m
for r in rows("reactances"):
    a = r["arrangement"]
    ins = "90" if "90 C" in a else "70"
    for kind in ["singles"] if "single" in a else ["multicore", "armoured"]:
        group = "A & B" if "A & B" in a else a.rsplit(" C ", 1)[-1] if "single" in a else "all"
        REACTANCE[kind, ins, group, float(r["csa_mm2"])] = float(r["x_mohm_per_m"]) / 1000

AMBIENT, GROUND, GROUPS, SURROUNDED, SOIL, DEPTH = {}, {}, {}, [], {}, {}
LIES = {"bunched": "bunched", "single layer on wall": "single layer on wall", "perforated": "single layer on tray", "on ladder": "single layer on ladder",
        "cable, clearance": ""}
for r in rows("factors"):
    family, what, value = r["family"], r["condition"], r["value"]
    n = [float(x) for x in re.findall(r"\d+(?:\.\d+)?", what.replace("70C", "").replace("90C", "").replace("60C", ""))] or [0]
    if family.startswith("Ca"):
        (GROUND if "ground" in family else AMBIENT)[what[:2], n[0]] = float(value)
    elif family.startswith("Cg Table 4C1"):
        how = next((v for k, v in LIES.items() if k in what), None)
        count = int(re.search(r"(\d+) circuits", what)[1])
        GROUPS[how, count] = float(value)
    elif family.startswith("Cg Table 4C2"):
        how = what.split("clearance ")[1]
        how = {"touching": "buried touching", "one cable diameter": "buried one diameter apart"}.get(how) or "buried %g mm apart" % (1000 * num(how))
        GROUPS[how, int(n[0])] = float(value)
    elif family.startswith("Cg Table 4C3"):
        how = what.split("clearance ")[1]
        how = "ducts touching" if how == "touching" else "ducts 1 m apart" if how == "1.0 m" else "ducts %g mm apart" % (1000 * num(how))
        GROUPS[how, int(n[0])] = float(value)
    elif family.startswith("Ci"):
        SURROUNDED.append((n[0] / 1000, float(value)))
    elif family.startswith("Cs"):
        SOIL["duct" in what, n[0]] = float(value)
    elif family.startswith("Cd"):
        DEPTH["duct" in what, n[0]] = float(value)


def worse(table, *key):
    """The row of that value, or the next that is the harder on the cable."""
    fixed, x = key[:-1], key[-1]
    above = sorted(k[-1] for k in table if k[:-1] == fixed and k[-1] >= x - 1e-9)
    return table[fixed + (above[0],)] if above else None


def group_of(kind, method):
    """Which column of a volt-drop or reactance table a method reads."""
    if kind != "singles":
        return "all"
    return "A & B" if method in ("A", "B") else None


# --- conductors ------------------------------------------------------------

ALPHA = {"copper": 0.004, "aluminium": 0.004, "steel": 0.0045}  # per K at 20 C: IEC 60228 for conductors, IEC 60287-1-1 for steel


def cable_of(circuit, leg):
    own = leg.get("cable")
    return own if own else circuit.get("cable", {})


def branches(circuit, leg):
    """Line and protective conductor of a leg: lists of (ohm/m at 20 C, alpha,
    hottest in use, reactance/m), several in parallel; None if not tabulated."""
    c = cable_of(circuit, leg)
    kind, size, ins, what = c.get("construction"), num(c.get("csa")), (c.get("insulation") or "")[:2], c.get("material")
    if not (kind and size and ins and what):
        return None
    metal = COPPER if what == "copper" else ALUMINIUM
    hot = float(ins)
    if size not in metal:
        return None
    x = 0.0
    if size > 16:
        x = REACTANCE.get((kind, ins, group_of(kind, leg.get("method")), size))
        if x is None:
            return None
    line = [(metal[size], ALPHA[what], hot, x)]
    cpc = c.get("cpc") or ("core" if kind == "flat twin and cpc" else None)
    other = num(c.get("cpc csa"))
    if kind == "flat twin and cpc":
        if other is not None and other != TWIN.get(size):
            return None  # no such cable is made to BS 6004
        other = TWIN.get(size)
    elif kind in ("multicore", "armoured") and cpc in ("core", "core and armour"):
        other = size if other is None else other
    legs = []
    if cpc == "separate" and c.get("cpc material") != "copper":
        return None  # what the separate conductor is made of is not said, or not worked out here
    if cpc in ("core", "core and armour", "separate"):
        if other is None or other not in (metal if cpc != "separate" else COPPER):
            return None
        if other != size and other > 16 or cpc == "separate" and other > 16:
            return None
        at = hot if cpc != "separate" else 30.0  # Table 54.2: not bunched, at the temperature of the air
        legs.append(((metal if cpc != "separate" else COPPER)[other], ALPHA["copper"], at, x if other == size else 0.0))
    if cpc in ("armour", "core and armour"):
        if kind != "armoured" or num(c.get("cores")) is None or ins != "90":
            return None
        steel = ARMOUR.get((int(num(c["cores"])), size))
        if steel is None:
            return None
        legs.append((steel, ALPHA["steel"], 80.0, 0.0))  # Table 54.4: 80 C before a fault, in a 90 C cable
    return (line, legs) if legs else None


def impedance(parallel, length, temperature):
    """Of conductors side by side; temperature None is the hottest in use, at 50 Hz.
    At a temperature of the day it is what a continuity tester reads, by d.c."""
    admittance = 0
    for r20, alpha, hot, x in parallel:
        t = hot if temperature is None else temperature
        x = x if temperature is None else 0
        admittance += 1 / complex(r20 * (1 + alpha * (t - 20)) * length, x * length)
    return 1 / admittance


def continuity(circuit, temperature):
    """R1 and R2 of a circuit, leg by leg in series; None if a leg is not known."""
    r1 = r2 = 0
    legs = circuit.get("legs", [])
    for leg in legs:
        length, known = num(leg.get("length")), branches(circuit, leg)
        if length is None or known is None:
            return None
        r1 += impedance(known[0], length, temperature)
        r2 += impedance(known[1], length, temperature)
    return (r1, r2) if legs else None


# --- the job ---------------------------------------------------------------

# Charge points are made for these currents; a plate rounds the power. IEC
# 61851-1 takes 6 A to 80 A; which of them are common is common practice.
MADE_FOR = [6, 10, 13, 16, 20, 25, 32, 40, 48, 50, 63, 80]
LINES = ["L1", "L2", "L3"]


class Site:
    def __init__(self, job):
        self.job = job
        self.supply = job.get("supply", {})
        self.u0 = num(self.supply.get("voltage"))
        self.circuits = {c["name"]: c for c in job.get("circuits", [])}
        self.boards = {b["name"]: b for b in job.get("boards", [])}
        self.points = {p["name"]: p for p in job.get("points", [])}
        self.loads = {l["name"]: l for l in job.get("loads", [])}
        self.feed = {c.get("to"): c for c in self.circuits.values() if c.get("to")}

    def lines(self, phases):
        return LINES if phases == "L1 L2 L3" else [phases] if phases else None

    def point(self, p):
        """Current of a point in each of its lines: 722.311, in full."""
        n = num(p.get("phases"))
        if n is None or self.u0 is None:
            return None
        i = num(p.get("current"))
        if i is None:
            w = num(p.get("power"))
            if w is None:
                return None
            i = w / (n * self.u0)
            near = [made for made in MADE_FOR if 0.94 <= w / (made * n * self.u0) <= 1.015]
            if near:
                i = min(near, key=lambda made: abs(made - i))
        limit = num(p.get("current limit"))
        return i if limit is None else min(i, limit)

    def load(self, l):
        i = num(l.get("current"))
        if i is not None:
            return i
        w, pf = num(l.get("power")), num(l.get("power factor"))
        ls = self.lines(l.get("phases"))
        if None in (w, pf, self.u0) or ls is None:
            return None
        return w / (len(ls) * self.u0 * pf)

    def design(self, circuit):
        """Ib in each line; None if not known."""
        ls = self.lines(circuit.get("phases"))
        if ls is None:
            return None
        out = dict.fromkeys(LINES, 0.0)
        entered = num(circuit.get("design current"))
        to = circuit.get("to")
        if entered is not None:
            for l in ls:
                out[l] = entered
            return out
        if to in self.points:
            i = self.point(self.points[to])
            if i is None or len(ls) != num(self.points[to].get("phases")):
                return None
        elif to in self.loads:
            i = self.load(self.loads[to])
            if i is None or self.lines(self.loads[to].get("phases")) != ls:
                return None
        elif to in self.boards:
            for c in self.circuits.values():
                if c.get("from") == to:
                    part = self.design(c)
                    if part is None:
                        return None
                    for l in LINES:
                        out[l] += part[l]
            for l in self.loads.values():
                if l.get("board") == to and l["name"] not in self.feed:
                    i, where = self.load(l), self.lines(l.get("phases"))
                    if i is None or where is None:
                        return None
                    for k in where:
                        out[k] += i
            for limiter in self.job.get("limiters", []):
                if limiter.get("at") == to:
                    return None  # a limiter at a board: what it may hold back is a matter of rules, not of sums
            if any(out[l] for l in LINES if l not in ls):
                return None
            return out
        else:
            return None
        for l in ls:
            out[l] = i
        return out

    def path(self, circuit):
        out = []
        while circuit is not None:
            out.insert(0, circuit)
            if len(out) > 20:
                return None
            board = self.boards.get(circuit.get("from"))
            if board is None:
                return None
            circuit = self.feed.get(board["name"])
            if circuit is None and board.get("fed from") != "supply":
                return None
        return out

    def rating(self, circuit, leg):
        """Iz: appendix 4 section 5."""
        c = cable_of(circuit, leg)
        kind, size, method, ins = c.get("construction"), num(c.get("csa")), leg.get("method"), (c.get("insulation") or "")[:2]
        ls = self.lines(circuit.get("phases"))
        if not (kind and size and method and ins and ls) or c.get("material") != "copper":
            return None
        by = ins if ins == "90" and (num(circuit.get("terminals rated")) or 0) >= 90 else "70"  # 512.1.5
        it = RATING.get((kind, by, method, 3 if len(ls) == 3 else 2, size))
        t, together = num(leg.get("ambient")), num(leg.get("circuits together"))
        if None in (it, t, together):
            return None
        buried, duct = method.startswith("D"), method == "D duct"
        ca = worse(GROUND if buried else AMBIENT, by, t)
        cg = 1.0 if together == 1 else worse(GROUPS, leg.get("arrangement"), int(together))
        if None in (ca, cg):
            return None
        if together > 1 and leg["arrangement"].startswith("buried") != (method == "D buried") or together > 1 and leg["arrangement"].startswith("duct") != duct:
            return None  # an arrangement that the method cannot have
        iz = it * ca * cg
        if buried:
            soil, depth = num(leg.get("soil")), num(leg.get("depth"))
            if None in (soil, depth) or depth < 0.5:
                return None
            cs, cd = worse(SOIL, duct, soil), worse(DEPTH, duct, depth)
            if None in (cs, cd):
                return None
            return iz * cs * cd
        if method in ("A", "100", "101", "102", "103"):
            return iz
        around = num(leg.get("in insulation"))
        if around is None:
            return None
        if around > 0:
            iz *= next((f for length, f in SURROUNDED if around <= length + 1e-9), 0.5)
        return iz

    def drop(self, circuit, line):
        """Line to neutral, of one circuit: appendix 4 section 6."""
        ib, ls = self.design(circuit), self.lines(circuit.get("phases"))
        if ib is None or not circuit.get("legs"):
            return None
        total = 0.0
        for leg in circuit["legs"]:
            c = cable_of(circuit, leg)
            kind, size, ins, length = c.get("construction"), num(c.get("csa")), (c.get("insulation") or "")[:2], num(leg.get("length"))
            if not (kind and size and ins and length) or c.get("material") != "copper" or not leg.get("method"):
                return None
            phases = 3 if len(ls) == 3 else 1
            group = "all" if kind != "singles" else "A & B in conduit or trunking" if leg["method"] in ("A", "B") else None
            z = DROP.get((kind, ins, group, phases, size))
            if z is None:
                return None
            total += z * ib[line if phases == 3 else ls[0]] * length / (math.sqrt(3) if phases == 3 else 1)
        return total


# --- electrodes: BS 7430 section 9.5 ---------------------------------------

IN_LINE = {2: 1.00, 3: 1.66, 4: 2.15, 5: 2.54, 6: 2.87, 7: 3.15, 8: 3.39, 9: 3.61, 10: 3.81}


def electrode(e):
    kind, length, rho, d = e.get("kind"), num(e.get("length")), num(e.get("soil")), num(e.get("diameter"))
    if None in (kind, length, rho):
        return None
    if kind == "plate":
        return rho / 4 * math.sqrt(math.pi / length**2)
    if d is None:
        return None
    if kind == "tape":
        h = num(e.get("depth"))
        return None if h is None else rho / (2 * math.pi * length) * math.log(length**2 / (1.36 * h * d))
    one = rho / (2 * math.pi * length) * (math.log(8 * length / d) - 1)
    n = int(num(e.get("number")) or 1)
    if n == 1:
        return one
    s = num(e.get("spacing"))
    if s is None or n not in IN_LINE or s < length:
        return None
    return one * (1 + IN_LINE[n] * rho / (2 * math.pi * one * s)) / n


# --- what is printed -------------------------------------------------------

K = {"70": 115.0, "90": 143.0}  # line conductor, copper: Table 43.1
CMIN, CMAX = 0.95, 1.1
OPERATES = {}  # (family, rating, within) -> Ia, Tables 41.2 to 41.4
for r in rows("max-zs"):
    if any("SAFE BOUND" in (cell or "") for cell in r.values()):
        continue  # no printed row, and no reading of the curve here
    families = {"BS 88-2 E/G": ["BS 88-2 gG"], "BS 88-3 C": ["BS 88-3"], "BS 3036": ["BS 3036"]}.get(r["device"], [])
    if r["device"].startswith("MCB"):
        families = ["BS EN 60898 type " + r["device"][-1], "BS EN 61009 type " + r["device"][-1]]
    for family in families:
        for within in r["time_s"].split(" and "):
            OPERATES[family, float(r["rating_A"]), float(within)] = float(r["Ia_A"])


def check(number, job, out):
    s = Site(job)

    def say(path, quantity, value):
        if value is not None and not (isinstance(value, float) and math.isnan(value)):
            out.write("%d\t%s\t%s\t%r\n" % (number, path, quantity, value))

    day = num(job.get("site", {}).get("temperature"))
    ze = num(s.supply.get("Ze"))
    system = s.supply.get("earthing")
    for name, c in s.circuits.items():
        at = "circuits/" + name
        ib = s.design(c)
        if ib:
            say(at, "Ib", max(ib.values()))
        for leg in c.get("legs", []):
            say(at + "/legs/" + leg["name"], "Iz", s.rating(c, leg))
        way = s.path(c)
        if way and s.lines(c.get("phases")):
            totals = []
            for line in s.lines(c["phases"]):
                parts = [s.drop(p, line) for p in way]
                totals.append(None if None in parts else sum(parts))
            if None not in totals:
                say(at, "volt drop", max(totals))
        cold = continuity(c, day if day is not None else 20.0)
        if cold:
            say(at, "R1+R2", (cold[0] + cold[1]).real)
            say(at, "R2", cold[1].real)
        point = s.points.get(c.get("to"), {})
        own = point.get("earthing", {}).get("measure") == "separate electrode"
        if way and ze is not None and system in ("TN-S", "TN-C-S") and not own:
            hot = [continuity(p, None) for p in way]
            if None not in hot:
                say(at, "Zs", ze + sum(abs(r1 + r2) for r1, r2 in hot))
        device = c.get("device", {})
        family, rated = device.get("type"), num(device.get("rating"))
        if s.u0 and family and rated and system in ("TN-S", "TN-C-S") and not own:
            ia = OPERATES.get((family, rated, 5.0 if c.get("to") in s.boards else 0.4))
            if ia:
                say(at, "greatest Zs", s.u0 * CMIN / ia)
        for leg in c.get("legs", []):
            cable = cable_of(c, leg)
            if cable.get("material") == "copper" and (cable.get("insulation") or "")[:2] in K and (num(cable.get("csa")) or 999) <= 300:
                say(at + "/legs/" + leg["name"], "k of the line", K[cable["insulation"][:2]])
    for e in job.get("electrodes", []):
        if num(e.get("resistance")) is None:
            say("electrodes/" + e["name"], "RA", electrode(e))
    existing = num(s.supply.get("maximum demand"))
    full = dict.fromkeys(LINES, 0.0)
    for name, p in s.points.items():
        i, feed = s.point(p), s.feed.get(name)
        ls = s.lines(feed.get("phases")) if feed else None
        if i is None or ls is None or len(ls) != num(p.get("phases")):
            return
        if len(ls) == 1:  # ahead there may be one line only: then it is in that one
            up = feed
            while up is not None:
                ahead = s.lines(up.get("phases"))
                ls = ahead if ahead and len(ahead) == 1 else ls
                up = s.feed.get(up["from"]) if up.get("from") else None
            ls = ["L1"] if num(s.supply.get("phases")) == 1 else ls
        for l in ls:
            full[l] += i
    if not s.points:
        return
    say("points", "demand in full", max(full.values()))
    # what is called the neutral's is the phasor sum of the lines, one power factor for all
    say("points", "neutral", abs(sum(full[l] * complex(math.cos(a), math.sin(a)) for l, a in zip(LINES, (0, -2 * math.pi / 3, 2 * math.pi / 3)))))
    phases = num(s.supply.get("phases"))
    found = s.supply.get("maximum demand")
    how = found.get("known by") if isinstance(found, dict) else None
    fed = dict.fromkeys(LINES, 0.0)  # what a meter of the supply did not see
    if job.get("sources") and how in (None, "measured", "declared") and s.supply.get("sources off meanwhile") in (False, "no"):
        for source in job["sources"]:
            if source.get("kind") == "vehicle":  # it comes with the work
                continue
            if num(source.get("output current")) is None:
                return
            for l in (["L1"] if phases == 1 else source.get("phases", "").split()):
                fed[l] += num(source["output current"])
    if existing is not None and phases in (1, 3):
        # annex of section 722: Ut = C U0 In / (sum of I), no electrode at the terminal
        each = [full[l] + fed[l] + (existing if phases == 3 or l == "L1" else 0) for l in LINES]
        if s.u0 and sum(each) > 0:
            neutral = abs(sum(i * complex(math.cos(a), math.sin(a)) for i, a in zip(each, (0, -2 * math.pi / 3, 2 * math.pi / 3))))
            say("supply", "lost PEN", CMAX * s.u0 * neutral / sum(each))


def main():
    for number, line in enumerate(sys.stdin):
        check(number, json.loads(line), sys.stdout)


main()
