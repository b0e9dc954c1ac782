#!/usr/bin/env python3
"""Invented crews whose days are not the program's: a second simulator, that nobody tunes to.

    cargo build --release
    PROGRAM=target/release/waystock python3 tests/peers/crews.py 1 41          # crews 1 to 40
    PROGRAM=target/release/waystock python3 tests/peers/crews.py 1 41 rates    # what is learned

Each crew lives 34 days hour by hour, writes a journal as people do (most of it at nine in the
evening, some of it never), reads coarse gauges, and services all tanks at eleven when one gets
short. Journal and outlook go in through `import`. The first form asks `forecast --json` on six
evenings and scores it against 120 futures that this simulator lives on from the true state; the
oracle beside it knows crew, levels and weather and lacks the dice alone. The second form compares
litres a day that `why --json` names with those that the crew really uses.

It shares no line with the program, and breaks what the program supposes: showers come after so
many days and not at random, half of them in the morning whatever the rig file says; a walk takes
the afternoon and not the day; meals, dishes and work hang together through who is at home. All of
it is invented. Needs: Python 3 with numpy.
"""
import csv
import datetime as dt
import json
import math
import os
import shutil
import subprocess
import sys
import tempfile

import numpy as np

PROGRAM = os.environ.get("PROGRAM", "target/release/waystock")
STOCKS = ["fresh", "grey", "liquids", "solids", "battery", "diesel", "food"]
FILLS_UP = {"grey", "liquids", "solids"}
USES = [("shower", "shower", "times"), ("dishes", "dishes", "times"),
        ("meal", "cooked meal", "times"), ("solids", "toilet solids", "uses")]
LEVELS = [.05, .1, .25, .5, .75, .9, .95]
NAMES = ["p05", "p10", "p25", "p50", "p75", "p90", "p95"]
DAYS, EVENING, HORIZON = 34, 21, 720
EVENINGS = (9, 14, 19, 24, 29, 33)


def hours(*weights):
    shares = np.array(weights, float)
    return shares / shares.sum()


# Shares of a day by civil hour: washing and drinking, the toilet, lights.
WASHING = hours(.1, .05, .05, .05, .1, .3, 1, 2.2, 2, 1.2, .8, .8,
                1.4, 1.2, .8, .8, .8, 1, 1.6, 1.6, 1.3, 1.2, 1, .4)
TOILET = hours(.5, .5, .4, .4, .5, .7, 1.3, 1.6, 1.2, 1.1, 1, 1,
               1, 1, 1, 1, 1, 1, 1, 1.1, 1.1, 1.2, 1.2, .8)
LIGHTS = hours(0, 0, 0, 0, 0, 0, .5, .5, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 2, 2, 2, 1, 0)


def about_one(random, spread, size=None):
    """Log-normal, of mean 1 and that relative spread."""
    sd = math.sqrt(math.log(1 + spread * spread))
    return np.exp(random.normal(-sd * sd / 2, sd, size))


class World:
    """A rig as its crew believes it to be, the crew as it is, and the weather."""
    RIG = dict(shower=8.0, dishes=4.0, meal=260.0, laptop=45.0, base=4.4, pee=1.2, eat=1.0,
               lights=40.0, fridge=22.0, standing=8.0, ua=38.0, panel=.78)
    SPREAD = dict(shower=.4, dishes=.4, meal=.4, laptop=.4, base=.3, pee=.3, eat=.1,
                  lights=.4, fridge=.35, standing=.5, ua=.3, panel=.12)

    def __init__(self, seed):
        random = np.random.default_rng(seed)
        people = self.people = int(random.choice([1, 2, 2, 3, 4]))
        self.seed, self.latitude = seed, float(random.uniform(40, 55))
        self.start = dt.datetime(2026, int(random.integers(3, 11)), int(random.integers(1, 28)),
                                 tzinfo=dt.timezone.utc)
        of = random.uniform
        self.capacity = dict(
            fresh=round(40 * people ** .6 * of(1, 2) + 30),
            grey=round(35 * people ** .6 * of(1, 2) + 20),
            liquids=round(5 * people ** .7 * of(1.2, 2.2), 1),
            solids=round(14 * people ** .8 * of(1.2, 2)),
            battery=round(of(2000, 6500)), diesel=round(of(15, 35)),
            food=round(people * of(6, 11)))
        self.rated_w = float(round(self.capacity["battery"] * of(.08, .2) / 10) * 10)
        self.true = {k: v * float(about_one(random, self.SPREAD[k])) for k, v in self.RIG.items()}
        self.gap_days, self.morning = of(1.2, 3.5, people), of(.2, .8, people)
        self.walks, self.dinner, self.lunch = of(.05, .35), of(.75, .95), of(.1, .6)
        self.breakfast, self.second_dishes = of(.1, .7), of(.1, .7)
        self.work_h, self.solid = float(random.choice([0, 2, 5, 7])), of(.7, .98, people)
        self.day_spread, self.use_spread = of(.05, .25), of(.15, .4)
        self.washing_to_grey = float(np.clip(random.normal(.43, .06), .2, .7))
        self.unwritten, self.skips, self.prompt = of(0, .14), of(0, .12), of() < .35
        self.battery_step = float(random.choice([.01, .05, .1]))
        self.fresh_step = float(random.choice([.25, .125, .1]))
        self.weather(random)

    def weather(self, random):
        days = DAYS + HORIZON // 24 + 3
        of_year = self.start.timetuple().tm_yday + np.arange(days)
        season = 27 - .38 * self.latitude + float(random.normal(0, 1.5)) \
            + .19 * self.latitude * np.cos(2 * np.pi * (of_year - 203) / 365)
        warmth, sky = np.zeros(days), np.zeros(days)
        for day in range(days):
            warmth[day] = (.74 * warmth[day - 1] if day else 0) \
                + random.normal(0, 3.6 * (math.sqrt(1 - .74 ** 2) if day else 1))
            sky[day] = (.4 * sky[day - 1] if day else 0) + random.normal(0, math.sqrt(.84))
        self.season = season.mean()
        self.cloud = 1 / (1 + np.exp(-(float(random.normal(.2, .5)) + 1.6 * sky)))
        half = 3 + 4 * (1 - self.cloud)
        self.low, self.high = season + warmth - half, season + warmth + half
        hour, latitude = np.arange(24) + .5, math.radians(self.latitude)
        self.light, self.outside = np.zeros((days, 24)), np.zeros((days, 24))
        for day in range(days):
            tilt = math.radians(-23.44 * math.cos(2 * np.pi * (of_year[day] + 10) / 365))
            height = math.sin(latitude) * math.sin(tilt) \
                + math.cos(latitude) * math.cos(tilt) * np.cos(np.radians(15 * (hour - 12)))
            # Clear sky by Haurwitz, 1945 (from memory).
            up = np.maximum(height, .02)
            clear = np.where(height > .02, 1098 * up * np.exp(-.057 / up), 0)
            cloud = np.clip(self.cloud[day] + random.normal(0, .12, 24), 0, 1)
            self.light[day] = clear * (1 - .75 * cloud ** 3.2)
            middle, swing = (self.low[day] + self.high[day]) / 2, half[day]
            self.outside[day] = middle - swing * np.cos(2 * np.pi * (hour - 4.5) / 24)
        self.outlooks = []
        for day in range(DAYS):
            off, cloudier = np.cumsum(random.normal(0, .8, 6)), np.cumsum(random.normal(0, .08, 6))
            self.outlooks.append([
                (day + k, self.low[day + k] + off[k], self.high[day + k] + off[k],
                 float(np.clip(self.cloud[day + k] + cloudier[k], 0, 1))) for k in range(6)])

    def keep(self, stock):
        share = dict(fresh=.06, battery=.1).get(stock, 0)
        return dict(diesel=2.0, food=float(self.people)).get(stock, share * self.capacity[stock])

    def limit(self, stock):
        return self.capacity[stock] if stock in FILLS_UP else self.keep(stock)

    def at(self, day, hour, minute=0):
        return (self.start + dt.timedelta(days=day, hours=hour, minutes=minute)).isoformat()


class Lives:
    """Some lives of one crew, side by side."""

    def __init__(self, world, level, gap, lives, random):
        self.world, self.lives, self.random = world, lives, random
        self.level = {k: np.full(lives, float(level[k])) for k in STOCKS}
        self.gap = np.tile(gap, (lives, 1)).astype(float)

    def put(self, name, who, hour, amount=1.0):
        """Lets `who` do something at an hour, unless it has passed; gives back who did."""
        hour = np.broadcast_to(hour, (self.lives,))
        did = who & (hour >= self.begins)
        amount = np.broadcast_to(amount, (self.lives,))
        np.add.at(self.does[name], (np.flatnonzero(did), hour[did]), amount[did])
        return did

    def plan(self, day, begins=0):
        """What a day will hold, from an hour of it on."""
        world, random, lives = self.world, self.random, self.lives
        chance, between = lambda: random.random(lives), lambda a, b: random.integers(a, b, lives)
        self.begins = begins
        self.does = {k: np.zeros((lives, 24))
                     for k in ("shower", "dishes", "meal", "laptop", "solids")}
        self.out = chance() < world.walks * (1.25 if world.cloud[day] < .5 else .7)
        for person in range(world.people):
            since = self.gap[:, person] + (begins == 0)
            wants = np.clip((since - world.gap_days[person] + 1) / 1.5, 0, 1) * .85
            wants = np.where(self.out, np.clip(wants + .2, 0, 1), wants)
            early = chance() < world.morning[person]
            washed = self.put("shower", chance() < wants,
                              np.where(early, between(7, 10), between(18, 22)))
            self.gap[:, person] = np.where(washed, 0, since)
            elsewhere = self.out & (chance() < .2)
            self.put("solids", (chance() < world.solid[person]) & ~elsewhere,
                     np.where(chance() < .7, between(7, 10), between(12, 21)))
            self.put("solids", chance() < .08, between(10, 22))
        home = ~self.out
        self.put("meal", chance() < world.dinner, between(18, 20))
        self.put("meal", home & (chance() < world.lunch), np.full(lives, 12))
        self.put("meal", chance() < world.breakfast, np.full(lives, 8))
        self.put("dishes", chance() < .93, between(19, 22))
        self.put("dishes", home & (chance() < world.second_dishes), between(9, 14))
        if world.work_h:
            week = (world.start + dt.timedelta(days=int(day))).weekday() < 5
            worked = np.clip(random.normal(world.work_h, 1.3, lives), .5, 10)
            worked *= (1 if week else (chance() < .2) * .3) * np.where(self.out, .2, 1)
            for hour in range(9, 18):
                self.put("laptop", np.full(lives, True), hour, worked / 9)
        takes = lambda name: self.does[name] * world.true[name] \
            * about_one(random, world.use_spread, (lives, 24))
        self.takes = {name: takes(name) for name in ("shower", "dishes", "meal", "laptop")}
        spread = lambda share=1.0: about_one(random, world.day_spread * share, lives)
        common = spread(.7)
        self.washes, self.pees, self.lit = common * spread(.7), common * spread(.7), spread()
        self.eats = about_one(random, .12, lives)
        self.cafe = self.out & (chance() < .3)

    def hour(self, day, hour):
        """Moves the levels, which may leave their range."""
        world, true, level = self.world, self.world.true, self.level
        people, away = world.people, self.out & (9 <= hour < 17)
        showered, washed_up = self.takes["shower"][:, hour], self.takes["dishes"][:, hour]
        base = people * true["base"] * WASHING[hour] * self.washes * np.where(away, .15, 1)
        fresh = showered + washed_up + base
        level["fresh"] -= fresh
        level["grey"] += .95 * (showered + washed_up) + world.washing_to_grey * base
        level["liquids"] += people * true["pee"] * TOILET[hour] * self.pees \
            * np.where(away, .25, 1)
        level["solids"] += self.does["solids"][:, hour]
        meal = {8: .25, 13: .3, 19: .45}.get(hour, 0)
        level["food"] -= people * true["eat"] * meal * self.eats \
            * np.where(self.cafe & (hour == 13), 0, 1)
        outside, light = world.outside[day, hour], world.light[day, hour]
        wanted = 19.0 if 7 <= hour < 22 else 13.0
        heat = true["ua"] * (np.where(away, 13, wanted) - outside) \
            - np.where(away, 0, people * 90 + .2 * light)
        heat = np.clip(heat, 0, 2100)
        hot = (showered * (38 - 10) + washed_up * (42 - 10)) * 4186 / 3600
        level["diesel"] -= heat / (10025 * .8) + hot / (10025 * .75)
        load = (self.takes["meal"][:, hour] + self.takes["laptop"][:, hour]) / .9 \
            + LIGHTS[hour] * true["lights"] * people * self.lit + true["standing"] \
            + true["fridge"] * (1 + .04 * (max(outside, wanted) - 20)) \
            + 23 * heat / 2100 + .19 * fresh
        panel = world.rated_w * true["panel"] * light / 1000 \
            * (1 - .0038 * (outside + light * .03 - 25))
        net = np.clip(panel, 0, 1400) - load
        level["battery"] += np.where(net > 0, net * .97, net / .98)
        level["battery"] = np.minimum(level["battery"], world.capacity["battery"])

    def hold(self):
        for stock in STOCKS:
            self.level[stock] = np.clip(self.level[stock], 0, self.world.capacity[stock])

    def is_out(self, stock):
        limit, level = self.world.limit(stock), self.level[stock]
        return level >= limit if stock in FILLS_UP else level <= limit


def futures(world, level, gap, day, lives, seed):
    """Hours from an evening on until each stock meets its limit, in so many lives."""
    crew = Lives(world, level, gap, lives, np.random.default_rng(seed))
    met = {k: np.where(crew.is_out(k), 0.0, np.inf) for k in STOCKS}
    crew.plan(day, EVENING)
    for passed in range(HORIZON):
        today, hour = day + (EVENING + passed) // 24, (EVENING + passed) % 24
        if hour == 0:
            crew.plan(today)
        before = {k: v.copy() for k, v in crew.level.items()}
        crew.hour(today, hour)
        for stock in STOCKS:
            new = crew.is_out(stock) & np.isinf(met[stock])
            if new.any():
                step = (crew.level[stock] - before[stock])[new]
                part = (world.limit(stock) - before[stock][new]) / np.where(step == 0, 1, step)
                met[stock][new] = passed + np.clip(part, 0, 1)
        crew.hold()
    met["next"] = np.minimum.reduce([met[k] for k in STOCKS])
    return {k: np.minimum(v, HORIZON) for k, v in met.items()}


class Journal:
    """The rows of an exchange file."""

    def __init__(self, world):
        self.world, self.rows = world, []

    def add(self, at, kind, what, amount="", unit="", after=""):
        self.rows.append([self.world.at(*at), kind, what, amount, unit, "", after, "", ""])

    def use(self, at, name, amount, unit):
        if amount:
            self.add(at, "use", name, amount, unit)

    def service(self, at, stock):
        if stock in FILLS_UP:
            self.add(at, "empty", stock)
        else:
            self.add(at, "fill", stock, after="full")

    def readings(self, day, crew, random):
        """What somebody looks at in the evening: a gauge in steps, lamps, or a guess."""
        world = self.world
        share = lambda stock: crew.level[stock][0] / world.capacity[stock]
        stepped = lambda x, step: round(100 * round(float(np.clip(x, 0, 1)) / step) * step, 2)
        look = lambda stock, percent: self.add((day, EVENING), "level", stock, percent, "%")
        if random.random() < .85:
            noisy = share("battery") + random.normal(0, .006)
            look("battery", stepped(noisy, world.battery_step))
        if random.random() < .6:
            look("fresh", stepped(share("fresh"), world.fresh_step))
        if random.random() < .4:
            look("grey", max(lamp for lamp in (0, 30, 60, 90) if 100 * share("grey") >= lamp))
        if random.random() < .35:
            look("liquids", stepped(share("liquids") + random.normal(0, .05), .1))
        if random.random() < .3:
            look("diesel", stepped(share("diesel"), .125))
        if random.random() < .25:
            look("food", stepped(share("food") + random.normal(0, .06), .1))


def lived(world):
    """The journal of all days, and levels and showers as they were on each evening asked about."""
    random, journal = np.random.default_rng(world.seed + 7919), Journal(world)
    level = {k: 0 if k in FILLS_UP else world.capacity[k] for k in STOCKS}
    level["battery"] *= .8
    crew, then = Lives(world, level, np.zeros(world.people), 1, random), {}
    journal.add((0, 0), "crew", "aboard", world.people, "people")
    for stock in STOCKS:
        if stock != "battery":
            journal.service((0, 0), stock)
    told = lambda times: sum(random.random() > world.unwritten for _ in range(int(times)))
    late = {}
    for day in range(DAYS):
        crew.plan(day)
        silent = random.random() < world.skips
        for hour in range(24):
            if hour == 11:
                serve(world, crew, journal, day)
            crew.hour(day, hour)
            crew.hold()
            if world.prompt and not silent:
                for what, name, unit in USES:
                    for _ in range(told(crew.does[what][0, hour])):
                        journal.use((day, hour, int(random.integers(0, 59))), name, 1, unit)
            if hour == EVENING - 1 and not silent:
                for what, name, unit in USES:
                    if not world.prompt:
                        done = told(crew.does[what][0, :EVENING].sum()) + late.get(what, 0)
                        journal.use((day, EVENING), name, done, unit)
                worked = round(float(crew.does["laptop"][0, :EVENING].sum()) * 2) / 2
                journal.use((day, EVENING), "laptop work", worked * told(1), "h")
                journal.readings(day, crew, random)
            if hour == EVENING - 1:
                then[day] = ({k: float(crew.level[k][0]) for k in STOCKS}, crew.gap[0].copy())
        late = {what: told(crew.does[what][0, EVENING:].sum()) for what, *_ in USES}
    return journal.rows, then


def serve(world, crew, journal, day):
    """A stop at which everything is seen to, as soon as something gets short."""
    room = {k: abs(world.limit(k) - crew.level[k][0]) / world.capacity[k] for k in STOCKS}
    if min(room[k] for k in STOCKS if k != "battery") > .17 and room["battery"] > .12:
        return
    for stock in STOCKS:
        if stock != "battery" or room[stock] < .4:
            crew.level[stock][:] = 0 if stock in FILLS_UP else world.capacity[stock]
            journal.service((day, 11, 5), stock)


def rig(world):
    keep, cap, own = world.keep, world.capacity, World.RIG
    stock = lambda name, unit, more="": (
        f'(name: "{name}", runs: {"up" if name in FILLS_UP else "down"}, unit: "{unit}", '
        f'capacity: {cap[name]}{more})')
    kept = lambda name: f", keep: {keep(name):.2f}"
    use = lambda name, often, more: (
        f'(name: "{name}", usual: {often}, usual_spread: 0.4, {more})')
    water = lambda amount, to: (
        f'takes: [(stock: "fresh", amount: {amount}, spread: 0.4, warmed_to: {to})], '
        'gives: [(stock: "grey", share: 0.95, of: "fresh", spread: 0.03)]')
    power = lambda amount: (
        f'takes: [(stock: "battery", amount: {amount}, spread: 0.4, through_inverter: true)]')
    base = lambda name, move, name2, amount, spread, more="": (
        f'(name: "{name}", per: person_day, {move}: '
        f'[(stock: "{name2}", amount: {amount}, spread: {spread})]{more})')
    stocks = [
        stock("fresh", "L", kept("fresh") + f", gauge: step({world.fresh_step}), lift_wh: 0.19"),
        stock("grey", "L", ", gauge: ladder([0.3, 0.6, 0.9])"),
        stock("liquids", "L"), stock("solids", "uses"),
        stock("battery", "Wh", kept("battery") + f", gauge: step({world.battery_step})"),
        stock("diesel", "L", kept("diesel") + ", gauge: step(0.125)"),
        stock("food", "person-days", kept("food"))]
    activities = [
        use("shower", .5, "per: person, hours: [(7, 1), (8, 1), (18, 1), (20, 2), (21, 1)], "
            + water(own["shower"], 38)),
        use("dishes", 1.4, "per: van, hours: [(9, 1), (13, 1), (19, 3)], "
            + water(own["dishes"], 42)),
        use("cooked meal", 1.6, "per: van, hours: [(8, 1), (12, 1), (18, 3)], "
            + power(own["meal"])),
        use("laptop work", 3, 'counted_in: "h", per: van, hours: [(9, 1), (10, 1), (13, 1), (14, 1)], '
            + power(own["laptop"])),
        use("toilet solids", 1, 'counted_in: "uses", per: person, hours: [(7, 3), (12, 1), (19, 1)], '
            'gives: [(stock: "solids", amount: 1)]')]
    bases = [
        base("drinking and washing", "takes", "fresh", own["base"], .3,
             ', gives: [(stock: "grey", share: 0.43, of: "fresh", spread: 0.08)]'),
        base("toilet liquids", "gives", "liquids", own["pee"], .3),
        base("eating", "takes", "food", own["eat"], .1),
        base("lights and phones", "takes", "battery", own["lights"], .4)]
    return f'''(format: 1, van: "Crew {world.seed}", crew: {world.people}, show: metric,
home: (place: "Field", latitude: {world.latitude:.3f}, longitude: 0.0, zone: "UTC",
 typical: (low_c: {world.season - 5:.1f}, high_c: {world.season + 5:.1f}, cloud: 0.5)),
stocks: [{", ".join(stocks)}],
activities: [{", ".join(activities)}],
base: [{", ".join(bases)}],
electrics: (store: "battery", volts: 12.8, chemistry: lithium, charge_efficiency: 0.97,
 discharge_efficiency: 0.98, charge_limit_w: 1400,
 panels: [(rated_w: {world.rated_w}, tilt: 0, factor: {own["panel"]}, factor_spread: 0.12,
 per_kelvin: -0.0038)], inverter: (efficiency: 0.9, idle_w: 0, always_on: false),
 fridge: (mean_w: {own["fridge"]}, per_kelvin: 0.04, spread: 0.35),
 standing_w: {own["standing"]}, standing_spread: 0.5),
heating: (burns: "diesel", wh_per_unit: 10025, efficiency: 0.8, output_w: 2100, lowest_w: 850,
 fan_w: 23, ua_w_per_k: {own["ua"]}, ua_spread: 0.3, day_c: 19, night_c: 13, night_from: 22,
 night_to: 7, person_w: 90, sun_gain_m2: 0.4),
hot_water: (from: "diesel", wh_per_unit: 10025, efficiency: 0.75, cold_c: 10))'''


class Program:
    """The program, and a folder with this crew's rig, journal and outlooks."""

    def __init__(self, world, rows, folder):
        self.folder = folder
        with open(f"{folder}/rig.ron", "w", encoding="utf-8") as file:
            file.write(rig(world))
        outlook = [
            [world.at(day, 7), world.at(other, 0)[:10], round(low, 1), round(high, 1), "",
             round(cloud, 2), ""]
            for day in range(DAYS) for other, low, high, cloud in world.outlooks[day]]
        tables = [("log", "at,kind,what,amount,unit,step,after,note,recorded", rows),
                  ("outlook", "issued,date,low_c,high_c,sun_kwh_m2,cloud,place", outlook)]
        for name, header, table in tables:
            path = f"{folder}/{name}.csv"
            with open(path, "w", newline="", encoding="utf-8") as file:
                csv.writer(file).writerows([header.split(",")] + table)
            self.run("import", path, "--at", world.at(DAYS, 0))

    def run(self, *words):
        done = subprocess.run([PROGRAM, "--dir", self.folder, *words],
                              capture_output=True, text=True, check=False)
        if done.returncode:
            sys.exit(f"{words}: {done.stderr}")
        return done.stdout

    def ask(self, at, *words):
        return json.loads(self.run(*words, "--json", "--at", at))


def crps(quantiles, truths):
    """Mean pinball loss over the levels, in days, both capped at the horizon."""
    own = np.minimum([HORIZON if q is None else q for q in quantiles], HORIZON) / 24
    level, miss = np.array(LEVELS), truths[:, None] / 24 - own
    return float(np.mean(2 * np.maximum(level * miss, (level - 1) * miss)))


def scores(world, program, then):
    for day in EVENINGS:
        answer = program.ask(world.at(day, EVENING, 1), "forecast")
        level, gap = then[day]
        truth = futures(world, level, gap, day, 120, world.seed * 1000 + day)
        asked = {s["name"]: s["hours"] for s in answer["stocks"]} | {"next": answer["next"]["hours"]}
        for stock, told in asked.items():
            own, y = [told[name] for name in NAMES], truth[stock]
            # Chosen by what the forecast says, not by the truth.
            if own[5] is None or own[5] > HORIZON - 20 or not own[1]:
                continue
            oracle = np.quantile(y, LEVELS)
            yield stock, [np.mean(y > own[3]), np.mean((y >= own[1]) & (y <= own[5])),
                          np.mean(y < own[1]), own[5] - own[1], oracle[5] - oracle[1],
                          crps(own, y), crps(list(oracle), y)]


def rates(world, program):
    """Litres (or uses) a day that are named, over those that are used."""
    crew = Lives(world, {k: 0 for k in STOCKS}, np.zeros(world.people), 200,
                 np.random.default_rng(world.seed))
    for day in range(DAYS - 5, DAYS + 25):
        if day == DAYS:
            begun = {k: v.mean() for k, v in crew.level.items()}
        crew.plan(day)
        for hour in range(24):
            crew.hour(day, hour)
    for stock in ("fresh", "grey", "liquids", "solids"):
        why = program.ask(world.at(DAYS - 1, EVENING, 1), "why", stock)
        named = abs(sum(mover["amount"] for mover in why["per_day"]))
        yield stock, named / (abs(crew.level[stock].mean() - begun[stock]) / 25)


def main():
    first, end = int(sys.argv[1]), int(sys.argv[2])
    of_rates = sys.argv[3:] == ["rates"]
    rows = {}
    for seed in range(first, end):
        world, folder = World(seed), tempfile.mkdtemp()
        journal, then = lived(world)
        program = Program(world, journal, folder)
        answers = rates(world, program) if of_rates else scores(world, program, then)
        for stock, row in answers:
            rows.setdefault(stock, []).append(row)
        shutil.rmtree(folder)
    if of_rates:
        for stock, ratios in rows.items():
            error = np.std(ratios) / math.sqrt(len(ratios))
            print(f"{stock:9} named / used a day {np.mean(ratios):.3f} ±{error:.3f}")
        return
    print("           evenings  later  inside   late  width / oracle  CRPS / oracle")
    for stock in STOCKS + ["next"]:
        if stock in rows:
            later, inside, late, width, narrow, own, oracle = np.mean(rows[stock], axis=0)
            print(f"{stock:9} {len(rows[stock]):9} {later:6.1%} {inside:7.1%} {late:6.1%}"
                  f" {width / narrow:15.2f} {own / oracle:14.2f}")


if __name__ == "__main__":
    main()
