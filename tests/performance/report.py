"""What a report costs over its JSON: run by hand, ``python tests/performance/report.py``.

Warm, each record a little different from the one before, as a service sees them: medians of building and writing the
PDF against ``typst.compile`` of the finished source by itself; and the memory of the process after many reports.
"""

import json
import resource
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import typst

from service.demo import demo_record
from service.report.html import html
from service.report.pdf import pdf, source_of
from service.report.stability_test import stability_test_report
from service.report.word import word
from service.resources.stability_tests import StabilityTest, compute

ROUNDS = 12
MANY = int(sys.argv[1]) if len(sys.argv) > 1 else 60


def timed(write, request, answer):
    begun = time.perf_counter()
    write(stability_test_report(request, answer))
    return time.perf_counter() - begun


def timed_alone(sources):
    begun = time.perf_counter()
    typst.compile(sources, format="pdf", ignore_system_fonts=True, pdf_standards=["a-2b"])
    return time.perf_counter() - begun


def resident_mb():
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def asked(i):
    record = demo_record()
    record["vessel"]["name"] = f"Invented {i}"
    record["items"][0]["mass_t"] = 0.9 + 0.001 * i
    request = StabilityTest.model_validate_json(json.dumps(record))
    return request, compute(request)


def main():
    times = {name: [] for name in ("pdf, all", "typst.compile", "html, all", "word, all")}
    for i in range(ROUNDS):
        request, answer = asked(i)
        times["pdf, all"].append(timed(pdf, request, answer))
        times["typst.compile"].append(timed_alone(source_of(stability_test_report(request, answer), "a4")))
        times["html, all"].append(timed(html, request, answer))
        if i < 3:
            times["word, all"].append(timed(word, request, answer))
    medians = {name: statistics.median(values[1:]) for name, values in times.items()}
    for name, value in medians.items():
        print(f"{name:14} {value:.3f} s")
    print(f"pdf over typst.compile: {medians['pdf, all'] / medians['typst.compile']:.2f} (to be 2 at most)")
    request, answer = asked(0)
    report = stability_test_report(request, answer)
    before = resident_mb()
    for i in range(MANY):
        pdf(type(report)(**{**vars(report), "subject": f"Invented {i}"}))
    print(f"memory: {before:.0f} MB, after {MANY} more reports {resident_mb():.0f} MB")


if __name__ == "__main__":
    main()
