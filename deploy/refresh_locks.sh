#!/usr/bin/env bash
# Writes the locks anew from pyproject.toml: hashes, no URLs. Needs `uv` on the PATH.
set -euo pipefail
cd "$(dirname "$0")/.."
trap 'rm -f uv.lock' EXIT
export_lock() { uv export --quiet --frozen --no-emit-project --no-emit-index-url --no-header "$@"; }
uv lock --quiet
export_lock --no-dev --output-file deploy/requirements.lock
export_lock --output-file deploy/requirements-dev.lock
export_lock --group contract --output-file deploy/requirements-contract.lock
