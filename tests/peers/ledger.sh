#!/bin/sh
# A cold `waystock next` on a journal of 60,000 entries, beside the accounting program `ledger`
# balancing as many transactions, in turns. Medians of the wall clock.
#
#   tests/peers/ledger.sh
#
# Needs: cargo, Python 3, and ledger (`apt-get install ledger`).
set -eu
cd "$(dirname "$0")/../.."
entries=${ENTRIES:-60000}
rounds=${ROUNDS:-11}
out=$(mktemp -d)
trap 'rm -r "$out"' EXIT
cargo build --quiet --release
cargo bench --quiet --bench peer -- folder "$out/folder" "$entries"
python3 - "$out" "$entries" "$rounds" <<'PYTHON'
import datetime, os, statistics, subprocess, sys, time
out, entries, rounds = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
book = f"{out}/book.ledger"
day = datetime.date(2018, 1, 1)
with open(book, "w") as file:
    for n in range(entries):
        on = day + datetime.timedelta(days=n // 20)
        what, amount = ["shower", "dishes", "meal", "drink"][n % 4], 2 + n % 9
        file.write(f"{on:%Y/%m/%d} {what}\n    Grey:{what}    {amount} L\n    Fresh\n\n")
env = dict(os.environ, WAYSTOCK_DIR=f"{out}/folder")
runs = {
    "waystock next": ["target/release/waystock", "next"],
    "ledger balance": ["ledger", "--args-only", "-f", book, "balance"],
}
times = {name: [] for name in runs}
peaks = {}
for _ in range(rounds):
    for name, words in runs.items():
        begun = time.perf_counter()
        done = subprocess.run(words, env=env, stdout=subprocess.PIPE)
        times[name].append(time.perf_counter() - begun)
        assert done.returncode == 0, done
        peaks[name] = done.stdout.decode().splitlines()[0]
print(f"{entries} entries, medians of {rounds} runs in turns")
for name in runs:
    print(f"  {name:16} {statistics.median(times[name]) * 1e3:8.1f} ms   {peaks[name].strip()}")
ours, theirs = (statistics.median(times[name]) for name in runs)
print(f"  ratio            {theirs / ours:8.1f}")
PYTHON
