"""Results as a JSON document, for programs. Layer: service.cases."""

import json
from collections.abc import Sequence
from typing import Any

import engine
import service
from service.cases.verification import VERDICTS, Result, exit_status


def summary(results: Sequence[Result], *, duration_s: float, url: str | None) -> str:
    """Return the document of a run: the counts, and each case with every deviation."""
    document: dict[str, Any] = {
        "replayed_by": {"url": url}
        if url
        else {"service_version": service.__version__, "engine_version": engine.__version__},
        "exit_status": exit_status(results),
        "duration_s": round(duration_s, 6),
        "case_count": len(results),
        "verdict_counts": {verdict: sum(one.verdict == verdict for one in results) for verdict in VERDICTS},
        "cases": [_case(one) for one in results],
    }
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _case(result: Result) -> dict[str, Any]:
    told: dict[str, Any] = {
        "file": result.loaded.path.as_posix(),
        "name": result.loaded.name,
        "verdict": result.verdict,
        "duration_s": round(result.duration_s, 6),
    }
    if result.loaded.case is not None:
        told["made_with"] = result.loaded.case.made_with.model_dump()
    if result.faults:
        told["faults"] = list(result.faults)
    if result.replayed is not None:
        told["deviations"] = [one.model_dump(exclude_none=True) for one in result.replayed.deviations]
        if result.replayed.problem is not None:
            told["problem"] = result.replayed.problem.model_dump()
    return told
