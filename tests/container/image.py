"""What the image says of itself: ``image.py INSPECTED VERSION`` prints size and layers, fails if unfit."""

import json
import re
import sys
from pathlib import Path

SIZE_MB = 550
"""More is a mistake: a compiler, a cache or the tests of the libraries got in. Our choice; it had 463 MB when written,
100 of them for typesetting reports."""


def main(inspected: str, version: str) -> None:
    """Print and check."""
    (image,) = json.loads(Path(inspected).read_text(encoding="utf-8"))
    config = image["Config"]
    size_mb = image["Size"] / 1e6
    print(f"size {size_mb:.0f} MB, {image['Architecture']}")
    for digest in image["RootFS"]["Layers"]:
        print(f"layer {digest}")
    labels = {name.removeprefix("org.opencontainers.image."): text for name, text in config["Labels"].items()}
    print(f"labels: version {labels['version']}, revision {labels['revision'][:12]}, licences {labels['licenses']}")
    assert size_mb < SIZE_MB, f"the image has {size_mb:.0f} MB"
    assert config["User"] == "10001:10001", config["User"]
    assert config["Entrypoint"] == ["python", "-m", "service"], "a shell would keep SIGTERM from the service"
    assert image["Healthcheck"]["Test"][0] == "CMD", image["Healthcheck"]
    assert labels["version"] == version, labels
    assert labels["title"], labels
    assert labels["description"], labels
    secret = re.compile("KEY|TOKEN|CERT|PROXY", re.I)
    assert not [text for text in config["Env"] if secret.search(text)]


if __name__ == "__main__":
    main(*sys.argv[1:])
