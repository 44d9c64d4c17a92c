#!/usr/bin/env bash
# Writes every lock anew from pyproject.toml and tests/container/tools.txt: hashes, no URLs. Needs `uv` on the PATH.
set -euo pipefail
cd "$(dirname "$0")/.."
trap 'rm -f uv.lock' EXIT
export_lock() { uv export --quiet --frozen --no-emit-project --no-emit-index-url --no-header "$@"; }
uv lock --quiet
export_lock --no-dev --output-file deploy/requirements.lock
export_lock --output-file deploy/requirements-dev.lock
export_lock --group contract --output-file deploy/requirements-contract.lock
export_lock --only-group build --output-file deploy/requirements-build.lock
# Programs that check the container: apart, as they ask for older versions of what the service uses.
uv pip compile --quiet --upgrade --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header \
  --output-file tests/container/tools.lock tests/container/tools.txt
