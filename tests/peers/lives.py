"""The lives of a forecast once more, vectorised over lives in numpy.

The same simulation as the engine's, as a person who knows numpy would write it: every hour, every
stock of every life is moved by habits, base use, sun and cold, clamped, and compared with its
limit; passages are interpolated within the hour, and the seven quantiles taken per stock and for
the first passage. What differs is only where random numbers come from, so the answers agree
within their chance. `run.sh` beside this file prints both times and the ratio.

Reads the JSON that `cargo bench --bench peer -- export FILE` writes.
"""

import json
import sys
import time

import numpy as np

QUANTILES = [0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95]
TEMPERATURE_LAG, CLEARNESS_LAG = 0.72, 0.33
LASTING = 0.15
OCCURRENCE = 0.25


def draw(world, lives, random):
    """Levels, coefficients, rates and the share of days out of every life, in mirrored pairs."""
    mean, factor = np.array(world["mean"]), np.array(world["factor"])
    half = (lives + 1) // 2
    normals = random.standard_normal((len(mean), half))
    departures = factor @ normals
    both = np.concatenate([departures, -departures], axis=1)[:, :lives]
    values = mean[:, None] + both
    stocks = len(world["stocks"])
    levels = values[:stocks].clip(0, np.array([s["capacity"] for s in world["stocks"]])[:, None])
    coefficients = values[stocks:]
    least, most = np.array(world["least"]), np.array(world["most"])
    coefficients = coefficients.clip(least[:, None], most[:, None])
    electric = world["electric"]
    if electric is not None:
        drawn = np.array(world["draws"]["level_wh"])
        chosen = random.choice(len(drawn), size=lives)
        levels[electric] = drawn[chosen]
        drawn = np.array(world["draws"]["coefficients"])
        for index in world["electric_only"]:
            coefficients[index] = drawn[chosen, index]
    # Behind the coefficients: what nobody writes over what is written, the share of untold days
    # that were lived at home, and the share of untold days.
    unwritten, at_home, untold = coefficients[-3:]
    rates = np.empty((len(world["habits"]), lives))
    for row, habit in zip(rates, world["habits"]):
        exposed = habit["exposure"] + habit["open"] / (1 + unwritten)
        row[:] = random.gamma(habit["shape"], 1, lives) / exposed
    return levels, coefficients, rates, untold * (1 - at_home)


def habits(world, rates, hours, lives, random):
    """Size of what happens, per activity, hour and life, as float32: gaps are Gamma of the
    life's order, and the gap at hand when the forecast starts is longer than usual. Counts that
    vary more than by chance come in logarithmic clumps."""
    happened = []
    for habit, rate in zip(world["habits"], rates):
        laws = habit["regularity"]
        which = random.choice(len(laws), lives, p=[law["chance"] for law in laws])
        order = np.array([law["order"] for law in laws])[which]
        clumps = np.array([law["clumps"] for law in laws])[which]
        clock = np.cumsum(habit["exposures"])
        clumped = clumps > 0
        c = clumps[clumped]
        rate = rate.copy()
        rate[clumped] *= -(1 - c) * np.log(1 - c) / c
        count = int(np.ceil(clock[-1] * rate.max() * 1.1 + 12)) if clock[-1] > 0 else 0
        size = np.zeros((hours, lives), dtype=np.float32)
        if count:
            first = random.gamma(order + 1, 1 / order, lives) * random.random(lives)
            gaps = random.gamma(order, 1 / order, (count, lives))
            gaps[0] = first
            at = np.cumsum(gaps, axis=0) / rate
            hour = np.searchsorted(clock, at)
            within = hour < hours
            life = np.broadcast_to(np.arange(lives), at.shape)
            times = np.ones(at.shape)
            times[:, clumped] = random.logseries(c, (count, c.size))
            spread = OCCURRENCE * random.standard_normal(at.shape)
            sizes = habit["size"] * (times + np.sqrt(times) * spread).clip(0.1)
            place = hour[within] * lives + life[within]
            size = np.bincount(place, sizes[within], hours * lives)
            size = size.reshape(hours, lives).astype(np.float32)
        happened.append(size)
    return happened


def weather(world, lives, random):
    """Temperature offset and clearness per day and life."""
    offsets, clearness = [], []
    warm = clear = None
    warm_lasts, clear_lasts = random.standard_normal(lives), random.standard_normal(lives)
    passing, lasting = np.sqrt(1 - LASTING), np.sqrt(LASTING)
    for day in world["days"]:
        a, b = random.standard_normal(lives), random.standard_normal(lives)
        if warm is None:
            warm, clear = a, b
        else:
            warm = TEMPERATURE_LAG * warm + np.sqrt(1 - TEMPERATURE_LAG**2) * a
            clear = CLEARNESS_LAG * clear + np.sqrt(1 - CLEARNESS_LAG**2) * b
        offsets.append(day["temperature_sd"] * (passing * warm + lasting * warm_lasts))
        clearer = passing * clear + lasting * clear_lasts
        clearness.append((day["clearness"] + day["clearness_sd"] * clearer).clip(0.05, 1.05))
    return offsets, clearness


class Kit:
    """Sun and cold."""

    def __init__(self, world, coefficients):
        self.kit = world["kit"]
        value = lambda name: 0.0 if self.kit[name] is None else coefficients[self.kit[name]]
        self.panel, self.fridge = value("panels"), value("fridge")
        self.standing, self.loss = value("standing"), value("heat_loss")
        learned = self.kit["heater"] is not None
        self.heater_draw = value("heater") / self.kit["fan_w"] if learned else 1.0

    def hour(self, hour, outside, clearness, home):
        kit = self.kit
        inside, fuel, heater = outside, 0.0, 0.0
        if kit["heated"]:
            appliances = (self.fridge + self.standing) if hour["people"] > 0 else 0.0
            gains = hour["people"] * kit["person_w"] + kit["sun_gain_m2"] * hour["clear_w_m2"] * clearness
            gains = gains + appliances
            demand = np.maximum(self.loss * (hour["wanted_c"] - outside) - gains, 0)
            heat = np.minimum(demand, kit["output_w"] if hour["people"] > 0 else 0.0)
            burning = np.minimum(heat / kit["lowest_w"], 1)
            inside = outside + (gains + heat) / self.loss
            if hour["people"] > 0:
                # Windows are opened from 24 degrees on, or two above what is wanted.
                aired = np.maximum(outside + 4, max(24.0, hour["wanted_c"] + 2))
                inside = np.minimum(inside, aired)
            heater = kit["fan_w"] * heat / kit["output_w"] + kit["start_wh"] * 8 * burning * (1 - burning)
            heater = heater * self.heater_draw * home
            fuel = heat / kit["useful_wh_per_unit"] * home
        share = (1 + kit["fridge_per_kelvin"] * (inside - 20)).clip(0.25, 2.5)
        load = (self.fridge * share + self.standing + kit["idle_w"] + heater) / kit["discharge"]
        offered = 0.0
        if hour["clear_w_m2"] > 0:
            plane = hour["clear_w_m2"] * clearness
            cell = outside + 25 / 800 * plane
            power = kit["rated_w"] / 1000 * plane * (1 + kit["per_kelvin"] * (cell - 25)).clip(0)
            offered = np.minimum(power * self.panel, kit["charge_limit_w"])
        return fuel, load, offered, inside

    def settle(self, net, offered, inside):
        """Light feeds the loads first; the battery keeps some of what is left."""
        kit = self.kit
        direct = np.minimum(offered, np.maximum(-net, 0) * kit["discharge"])
        kept = np.where(inside < kit["refuses_below_c"], 0, kit["charge"])
        return net + direct / kit["discharge"] + (offered - direct) * kept


def run(world, lives, random):
    hours = len(world["hours"])
    levels, coefficients, rates, out_share = draw(world, lives, random)
    happened = habits(world, rates, hours, lives, random)
    offsets, clearness = weather(world, lives, random)
    kit = Kit(world, coefficients)
    stocks, electric, fuel_stock = world["stocks"], world["electric"], world["fuel"]
    each, base = [], {}
    for flow in world["flows"]:
        amount = flow["scale"] * coefficients[flow["coefficient"]]
        if flow["share"] is not None:
            amount = amount * coefficients[flow["share"]]
        each.append((flow["stock"], flow["source"], amount))
        if str(flow["source"]).startswith("base"):
            rhythm = int(flow["source"].split()[1])
            usual, swinging = base.setdefault(rhythm, (np.zeros_like(levels), np.zeros_like(levels)))
            usual[flow["stock"]] += amount
            swinging[flow["stock"]] += flow["felt"] * amount
    by_activity = {}
    for stock, source, amount in each:
        if isinstance(source, int):
            key = (stock, source)
            by_activity[key] = by_activity.get(key, 0) + amount
    capacity = np.array([s["capacity"] for s in stocks])[:, None]
    limit = np.array([s["limit"] for s in stocks])[:, None]
    sign = np.array([1.0 if s["down"] else -1.0 for s in stocks])[:, None]
    passage = np.where(sign * (levels - limit) <= 0, 0.0, np.inf)
    lowest = []
    for index, hour in enumerate(world["hours"]):
        if index % 24 == 0:
            swing = (1 + hour["base_day_sd"] * random.standard_normal(lives)).clip(0.1)
            home = random.random(lives) >= out_share
            lowest.append(np.full(lives, np.inf))
        change = np.zeros_like(levels)
        for rhythm, (usual, swinging) in base.items():
            at_home = home if world["per_person"][rhythm] else 1.0
            change += at_home * (usual + swinging * (swing - 1)) * hour["base"][rhythm]
        for (stock, activity), amount in by_activity.items():
            size = happened[activity][index]
            if hour["exposed"][activity]:
                change[stock] += amount * size * home
        for source, amount in hour["planned"]:
            for stock, of, each_time in each:
                if of == source:
                    change[stock] += amount * each_time
        day = hour["day"]
        fuel, load, offered, inside = kit.hour(
            hour, hour["outside_c"] + offsets[day], clearness[day], home
        )
        if fuel_stock is not None:
            change[fuel_stock] -= fuel
        if electric is not None:
            net = change[electric] + hour["charge_wh"] - load
            change[electric] = kit.settle(net, offered, inside)
        after = (levels + change).clip(0, capacity)
        out = (sign * (after - limit) <= 0) & np.isinf(passage)
        if out.any():
            with np.errstate(divide="ignore", invalid="ignore"):
                part = ((levels - limit) / (levels - after)).clip(0, 1)
            part = np.where(np.isfinite(part), part, 1.0)
            passage = np.where(out, index + part, passage)
        levels = after
        if hour["moves_camp"]:
            for stock, of in enumerate(stocks):
                if of["reset_by_camp"]:
                    levels[stock] = of["serviced_level"]
        if electric is not None:
            lowest[-1] = np.minimum(lowest[-1], levels[electric])
    first = passage.min(axis=0)
    binding = [(passage.argmin(axis=0)[np.isfinite(first)] == s).mean() for s in range(len(stocks))]
    answers = [np.quantile(row, QUANTILES, method="hazen") for row in passage]
    return answers, np.quantile(first, QUANTILES, method="hazen"), binding


def main():
    world = json.load(open(sys.argv[1]))
    lives, rounds = int(sys.argv[2]), int(sys.argv[3])
    times = []
    for seed in range(rounds):
        random = np.random.default_rng(seed)
        begun = time.perf_counter()
        answers, first, _ = run(world, lives, random)
        times.append(time.perf_counter() - begun)
    json.dump({
        "median_s": float(np.median(times)),
        "first": [float(q) for q in first],
        "stocks": [[float(q) for q in row] for row in answers],
    }, sys.stdout)


main()
