"""The pages of a running service in a real browser that can reach no other host.

python -m tests.desk.pages ADDRESS
"""

import json
import re
import subprocess
import sys
import tempfile
import urllib.request
from html import unescape

CHROMIUM = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=15000"]
CHROMIUM += ["--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1"]


def rendered(url: str) -> str:
    """Return the document as the browser has it once its scripts have run."""
    with tempfile.TemporaryDirectory() as profile:
        command = [*CHROMIUM, f"--user-data-dir={profile}", "--dump-dom", url]
        done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    return unescape(done.stdout)


def main(address: str) -> None:
    """Look for every operation on /docs, for the links on /."""
    with urllib.request.urlopen(address + "openapi.json", timeout=60) as answer:
        document = json.load(answer)
    page = rendered(address + "docs")
    shown = set(re.findall(r'data-path="([^"]+)"', page))
    missing = set(document["paths"]) - shown
    assert not missing, f"/docs does not show {sorted(missing)}"
    landing = rendered(address)
    links = re.findall(r'href="([^"]+)"', landing)
    assert "docs" in links, landing[:500]
    print(f"/docs shows {len(shown)} paths, / has {len(links)} links")


if __name__ == "__main__":
    main(sys.argv[1].rstrip("/") + "/")
