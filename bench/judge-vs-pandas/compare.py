"""Runs pandas' parser and dustwright judge in turn on the same file and prints seconds, ratio and memory.

Called by run; see there. Each figure is the best of several runs in fresh processes, start-up of Go and
Python included for neither: pandas' time is taken inside its process around read_csv alone.
"""
import os
import subprocess
import sys
import time

ROUNDS = 5
PARSE = """
import sys, time, resource
import pandas
dates = sys.argv[2] == "dates"
t = time.perf_counter()
frame = pandas.read_csv(sys.argv[1], parse_dates=["time"] if dates else False)
print(time.perf_counter() - t, len(frame), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def pandas_parse(path, dates):
    out = subprocess.run([sys.executable, "-c", PARSE, path, dates], check=True, capture_output=True, text=True).stdout.split()
    return float(out[0]), int(out[1]), float(out[2])


def judge(program, collector, path):
    """Returns wall and processor seconds of the whole process and its peak memory in MB."""
    start = time.perf_counter()
    with open(os.devnull, "w") as null:
        child = subprocess.Popen([program, "judge", collector, path, "--json"], stdout=null)
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    seconds = time.perf_counter() - start
    if child.returncode != 0:
        sys.exit(f"dustwright judge ended with exit code {child.returncode}")
    return seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def main():
    work, collector = sys.argv[1], sys.argv[2]
    program = os.path.join(work, "dustwright")
    year = os.path.join(work, "1.csv")
    plain, dated, judged = [], [], []
    for _ in range(ROUNDS):
        plain.append(pandas_parse(year, "plain"))
        judged.append(judge(program, collector, year))
        dated.append(pandas_parse(year, "dates"))
    rows, size = plain[0][1], os.path.getsize(year) / 1e6
    best, best_dates = min(p[0] for p in plain), min(p[0] for p in dated)
    ours, memory = min(j[0] for j in judged), max(j[2] for j in judged)
    print(f"one year, one-minute rows, 12 channels: {rows} rows, {size:.0f} MB; best of {ROUNDS}, processes in turn")
    print(f"  pandas, parse only               {best:6.3f} s   {max(p[2] for p in plain):5.0f} MB")
    print(f"  pandas, parse and dates          {best_dates:6.3f} s   {max(p[2] for p in dated):5.0f} MB")
    print(f"  dustwright judge, whole process  {ours:6.3f} s   {memory:5.0f} MB")
    print(f"  judge takes {ours / best:.2f} of pandas' parsing, {ours / best_dates:.2f} of parsing with dates (asked for: 0.50 of the former)")
    print("years   seconds   processor seconds   of them a year       MB")
    per_year = []  # of processor seconds: a busy neighbour does not bend them
    for years in (1, 2, 5, 10):
        runs = [judge(program, collector, os.path.join(work, f"{years}.csv")) for _ in range(3)]
        seconds, cpu, peak = min(r[0] for r in runs), min(r[1] for r in runs), max(r[2] for r in runs)
        per_year.append(cpu / years)
        print(f"{years:5d} {seconds:9.3f} {cpu:19.3f} {cpu / years:16.3f} {peak:8.0f}")
    straight = max(per_year[1:]) <= 1.3 * per_year[0]
    print("the time grows in a straight line" if straight else "the time grows faster than the log")
    if ours > 0.5 * best or memory >= 300 or not straight:
        print("MISSED: asked for are half of pandas' parsing time, less than 300 MB and a straight line")
        sys.exit(1)


main()
