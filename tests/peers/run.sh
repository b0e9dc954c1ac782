#!/bin/sh
# The lives against the same simulation vectorised in numpy, from one run: both on one thread, and
# as shipped, where waystock uses all processors and numpy's vectorised loop cannot.
#
#   PYTHON=python3 LIVES=10000 tests/peers/run.sh
#
# Needs: cargo, and a Python 3 with numpy (`python3 -m venv somewhere && somewhere/bin/pip install
# numpy`, then PYTHON=somewhere/bin/python).
set -eu
cd "$(dirname "$0")/../.."
python=${PYTHON:-python3}
lives=${LIVES:-10000}
rounds=${ROUNDS:-5}
out=$(mktemp -d)
trap 'rm -r "$out"' EXIT
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
cargo bench --quiet --bench peer -- export "$out/world.json"
# In turns, so that a busy machine slows both.
for turn in 1 2 3; do
    cargo bench --quiet --bench peer -- time "$lives" "$rounds" > "$out/ours.$turn.json"
    "$python" tests/peers/lives.py "$out/world.json" "$lives" "$rounds" > "$out/numpy.$turn.json"
done
"$python" - "$out" "$lives" <<'PYTHON'
import json, statistics, sys
out, lives = sys.argv[1:]
read = lambda who: [json.load(open(f"{out}/{who}.{turn}.json")) for turn in (1, 2, 3)]
ours, numpy = read("ours"), read("numpy")
seconds = lambda runs, key="median_s": statistics.median(run[key] for run in runs)
one, all, theirs = seconds(ours), seconds(ours, "all_threads_s"), seconds(numpy)
print(f"{lives} lives, 30 days, hourly, medians")
print(f"  numpy, one thread                    {theirs * 1e3:10.1f} ms")
print(f"  waystock, one thread                 {one * 1e3:10.1f} ms   ratio {theirs / one:6.1f}")
print(f"  waystock as shipped, all {ours[0]['threads']:2} threads  {all * 1e3:10.1f} ms"
      f"   ratio {theirs / all:6.1f}")
names = [stock["name"] for stock in json.load(open(f"{out}/world.json"))["stocks"]]
print("hours to the limit, P10 / P50: waystock, numpy")
show = lambda q: "   beyond" if q is None or q == float("inf") else f"{q:9.1f}"
for name, a, b in zip(["first"] + names, [ours[0]["first"]] + ours[0]["stocks"],
                      [numpy[0]["first"]] + numpy[0]["stocks"]):
    print(f"  {name:14}", show(a[1]), show(a[3]), "  ", show(b[1]), show(b[3]))
PYTHON
