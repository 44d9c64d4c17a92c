"""Is everything of the lock in the image's bill of materials? ``bill.py SBOM LOCK``"""

import json
import re
import sys
from pathlib import Path


def main(bill: str, lock: str) -> None:
    """Compare, and print how many there are."""
    document = json.loads(Path(bill).read_text(encoding="utf-8"))
    assert document["bomFormat"] == "CycloneDX"
    found: dict[str, set[str]] = {"pypi": set(), "deb": set()}
    versions: dict[str, str] = {}
    for one in document["components"]:
        kind = re.match(r"pkg:(\w+)/", one.get("purl", ""))
        if kind and kind[1] in found:
            found[kind[1]].add(one["name"])
        if kind and kind[1] == "pypi":
            versions[re.sub(r"[-_.]+", "-", one["name"]).lower()] = one["version"]
    print(f"{len(found['pypi'])} Python packages, {len(found['deb'])} Debian packages")
    wanted: dict[str, list[tuple[str, bool]]] = {}
    for name, version, marker in re.findall(r"^([a-z0-9-]+)==([^ ;\\]+)( ;[^\\]*)?", Path(lock).read_text(), re.M):
        wanted.setdefault(name, []).append((version, bool(marker)))
    for name, choices in wanted.items():
        if name not in versions:  # not wanted on this system
            assert all(marked for _, marked in choices), f"{name} of the lock is not in the image"
        else:
            assert versions[name] in [version for version, _ in choices], (name, versions[name], choices)
    assert "python3.11-minimal" in found["deb"], sorted(found["deb"])
    assert versions.get("stability-test-service"), sorted(versions)
    tool = re.compile(r"(gcc|g\+\+|clang|make|libc6-dev|python3-dev|python3-pip)(-\d+)?$")
    assert not [name for name in found["deb"] if tool.match(name)]
    assert "pip" not in versions


if __name__ == "__main__":
    main(*sys.argv[1:])
