"""Runs each question of a page in DuckDB, and counts the same answer from the JSON Lines by plain loops."""

import collections
import json
import pathlib
import re
import sys

import duckdb

page, csv_folder, json_folder = (pathlib.Path(name) for name in sys.argv[1:])
view, parquet, *questions = re.findall(r"```sql\n(.*?)```", page.read_text(), re.DOTALL)
base = duckdb.connect()
base.execute(view.replace("readings.csv", f"{csv_folder}/**/*.csv"))
rows = [json.loads(line) for file in sorted(json_folder.rglob("*.jsonl")) for line in file.open()]
assert len(rows) > 100 and base.execute("select count(*) from readings").fetchall() == [(len(rows),)]
assert base.execute("select count(distinct id) from readings").fetchall() == [(len(rows),)]


def grouped(key, of):
    groups = collections.defaultdict(list)
    for row in of:
        groups[key(row)].append(row)
    return groups


def by_lot():
    steps = [row for row in rows if row["quantity"] == "step" and row["in_force"] and row["most"] is not None]
    for lot, of in grouped(lambda row: row["lot"] or None, steps).items():
        sizes = [abs(row["value"]) for row in of]
        shares = [abs(row["value"]) / row["most"] for row in of]
        yield lot, len(of), max(sizes), max(shares), sum(abs(row["value"]) > row["most"] for row in of)


def by_gauge():
    def record(row):
        return (*row["id"].split("|")[:5], row["address"])

    first = {(record(row), row["quantity"]): row for row in rows if row["repeat"] == 1}
    last = [row for row in rows if row["quantity"].endswith("-closure") and row["verdict"] != "void" and row["repeat"] == 1]
    moved = collections.defaultdict(list)
    for row in last:
        it = first.get((record(row), row["quantity"].removesuffix("-closure")))
        if it is not None:
            moved[row["instrument"] or None, row["day"][:7]].append(row["value"] - it["value"])
    for (gauge, month), values in moved.items():
        yield gauge, month, len(values), sum(values) / len(values), max(map(abs, values))


def by_wrench():
    full = [row for row in rows if row["quantity"] == "torque" and row["stage"] == "full" and row["in_force"]]
    full = [row for row in full if row["most"] is not None and row["most"] > row["least"]]
    for wrench, of in grouped(lambda row: row["instrument"] or None, full).items():
        places = [(row["value"] - row["least"]) / (row["most"] - row["least"]) for row in of]
        yield wrench, len(of), sum(places) / len(of), min(row["value"] for row in of)


def first_pass():
    steps = [row for row in rows if row["quantity"] == "step" and row["verdict"] != "void" and row["most"] is not None]
    steps = [row for row in steps if row["stage"] != "aligning"]
    months = collections.defaultdict(lambda: [0, 0])
    for _, of in grouped(lambda row: (row["ledger"], row["address"]), steps).items():
        first = min((row["day"], row["time"]) for row in of)
        within = [abs(row["value"]) <= row["most"] for row in of if (row["day"], row["time"]) == first]
        months[first[0][:7]][0] += 1
        months[first[0][:7]][1] += all(within)
    for month, (joints, conform) in months.items():
        yield month, joints, conform


def found_wrong():
    steps = [row for row in rows if row["quantity"] == "step" and row["instrument"] == "DI-4"]
    steps = [row for row in steps if "2026-04-01" <= row["day"] <= "2026-12-31"]
    for (ledger, joint), of in grouped(lambda row: (row["ledger"], row["address"]), steps).items():
        sizes = [abs(row["value"]) for row in of]
        yield ledger, joint, max(row["day"] for row in of), any(row["in_force"] for row in of), max(sizes)


def plain(value):
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return str(value)
    return f"{value:.9f}".replace("-0.000000000", "0.000000000")


def alike(answer):
    return sorted([plain(value) for value in row] for row in answer)


counted = [by_lot, by_gauge, by_wrench, first_pass, found_wrong]
assert len(questions) == len(counted)
for question, count in zip(questions, counted):
    asked, expected = alike(base.execute(question).fetchall()), alike(count())
    assert expected, f"nothing to count: {count.__name__}"
    assert asked == expected, f"{count.__name__}: {asked} is not {expected}"
    print(f"{count.__name__}: {len(asked)} rows answered alike")
base.execute(parquet.replace("readings.parquet", f"{csv_folder}.parquet"))
held = base.execute(f"select count(*) from read_parquet('{csv_folder}.parquet')").fetchone()
assert held == (len(rows),)
print("parquet holds as many rows")
