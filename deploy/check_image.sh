#!/usr/bin/env bash
# Builds the image and runs it as it is meant to be run; every line it prints was seen, and the first that is not as it
# should be ends it.
#
#   deploy/check_image.sh               the base is a stand-in made of the same Debian packages (needs root)
#   BASE=debian:bookworm-slim deploy/check_image.sh    the base is pulled from your registry
#   SBOM=FILE                           also write the list of everything in the image (CycloneDX), with `syft`
#   CA=FILE                             certificates pip needs to reach the index; none of them stays in the image
#   PYTHON=FILE                         a Python 3.11 or newer with pypdf, which reads the reports (python3)
#
# Needs podman, buildah, runc and a network of theirs (netavark or CNI), haproxy, python3, pypdf (PyPI); for the stand-in
# mmdebstrap.
# Everything is kept in a folder of its own that is removed at the end: no image or container of yours is touched.
set -euo pipefail
cd "$(dirname "$0")/.."
step() { echo "-- $1 ($SECONDS s)"; }
fail() { echo "FAILED: $1" >&2; exit 1; }
memory=${MEMORY:-512m}
python=${PYTHON:-python3}

need=(podman buildah runc haproxy python3 "$python")
[ -n "${BASE:-}" ] || need+=(mmdebstrap)
[ -z "${SBOM:-}" ] || need+=(syft skopeo)
for tool in "${need[@]}"; do command -v "$tool" > /dev/null || fail "no $tool on this machine: nothing was built or run"; done
"$python" -c "import pypdf" 2> /dev/null || fail "$python has no pypdf, which reads the reports: nothing was built or run"
[ -n "${BASE:-}" ] || [ "$(id -u)" = 0 ] || fail "the stand-in for the base needs root: set BASE to an image you can pull"

work=$(mktemp -d)
cleanup() {
  podman rm -af > /dev/null 2>&1 || true
  buildah rm -a > /dev/null 2>&1 || true
  podman rmi -af > /dev/null 2>&1 || true
  umount "$work/store/overlay" 2> /dev/null || true
  rm -rf "$work"
}
trap cleanup EXIT
cat > "$work/storage.conf" << CONF
[storage]
driver = "overlay"
graphroot = "$work/store"
runroot = "$work/run"
CONF
cat > "$work/containers.conf" << CONF
[containers]
default_ulimits = ["nofile=4096:4096", "nproc=4096:4096"]
[engine]
runtime = "runc"
cgroup_manager = "cgroupfs"
events_logger = "file"
CONF
export CONTAINERS_STORAGE_CONF=$work/storage.conf CONTAINERS_CONF=$work/containers.conf
# What the tools say is shown only when something fails: without systemd they complain of timers at every container.
quietly() { "$@" > "$work/out" 2> "$work/said" || { tail -n 30 "$work/out" "$work/said" >&2; fail "$*"; }; cat "$work/out"; }

step "base"
from=(--pull)
if [ -z "${BASE:-}" ]; then
  BASE=localhost/base:bookworm
  from=(--pull-never)
  quietly tests/container/base_image.sh "$work" "$BASE"
  echo "a stand-in made of Debian's packages; sha256 $(sha256sum "$work/base.tar" | cut -c 1-16)… of its files"
else
  echo "$BASE, pulled"
fi

step "build"
image=localhost/stability-test-service:check
secrets=()
[ -z "${CA:-}" ] || secrets=(--secret "id=ca,src=$CA")
version=$(sed -n 's/^__version__ = "\(.*\)"/\1/p' engine/__init__.py)
quietly buildah bud --quiet --layers "${from[@]}" --isolation chroot --format docker --timestamp "${SOURCE_DATE_EPOCH:-1700000000}" \
  --build-arg "BASE=$BASE" --build-arg "VERSION=$version" --build-arg "REVISION=$(git rev-parse HEAD 2> /dev/null || echo unknown)" \
  "${secrets[@]}" -f deploy/Dockerfile -t "$image" . > "$work/id"
podman image inspect "$image" > "$work/image.json" 2> "$work/said"
python3 tests/container/image.py "$work/image.json" "$version"

if [ -n "${SBOM:-}" ]; then
  step "list of what is in it"
  quietly skopeo copy --quiet "containers-storage:$image" "oci-archive:$work/image.tar"
  SYFT_CHECK_FOR_APP_UPDATE=false quietly syft scan "oci-archive:$work/image.tar" --quiet --output "cyclonedx-json=$SBOM"
  python3 tests/container/bill.py "$SBOM" deploy/requirements.lock
fi

hardened=(--read-only --read-only-tmpfs=false --tmpfs /tmp:rw,size=16m,mode=1777,nosuid,nodev,noexec --cap-drop ALL
  --security-opt no-new-privileges --memory "$memory" --memory-swap "$memory" --cpus 1 --pids-limit 64)

step "run: a user of its own, nothing to write to, no capabilities, $memory of memory"
quietly podman run -d --name service -p 127.0.0.1::8000 "${hardened[@]}" -v "$PWD/fixtures/cases:/cases:ro" \
  -v "$PWD/service/demo/library:/hulls:ro" -e HULL_LIBRARY=/hulls "$image" > "$work/id"
address=http://$(podman port service 8000 2> "$work/said")
python3 tests/container/outside.py ready "$address" || { podman logs service >&2; fail "the service is not ready"; }
podman exec -i service python - "$memory" < tests/container/inside.py || fail "the container is not as it should be"
quietly podman healthcheck run service
echo "the image's own health check: healthy"
reading() { podman exec service sh -c 'cat /sys/fs/cgroup/memory/memory.max_usage_in_bytes 2> /dev/null || cat /sys/fs/cgroup/memory.peak'; }
most() { echo "most memory the container took until now: $(($(reading) / 1048576)) MiB of $memory"; }

step "reports made in there"
most
"$python" tests/container/reports.py "$address" service/demo/record.json | tee "$work/reports" || fail "the reports"
most

step "the main job"
python3 tests/container/outside.py job "$address" service/demo/record.json
podman exec service python -m service demo > "$work/demo" || fail "python -m service demo"
grep -A 3 "^Lightship by" "$work/demo" || fail "the demo prints no lightship"
podman exec service python -m service verify /cases --jobs 1 > "$work/verify" || { tail -n 40 "$work/verify"; fail "verify inside"; }
echo "verify, computed inside:   $(grep " cases: " "$work/verify")"
podman exec service python -m service verify /cases --jobs 2 --url http://127.0.0.1:8000 > "$work/verify" \
  || { tail -n 40 "$work/verify"; fail "verify over HTTP"; }
echo "verify, asked over HTTP:   $(grep " cases: " "$work/verify")"
most

step "told to stop in the middle of a request; then killed in one, to see that this can fail"
python3 tests/container/outside.py stop "$address" service/demo/record.json podman kill -s TERM service 2> "$work/said" \
  || { cat "$work/said" >&2; fail "a request was lost"; }
code=$(podman wait service 2> "$work/said")
[ "$code" = 0 ] || fail "the service ended with $code after SIGTERM"
echo "it ended with status 0"
quietly podman run -d --name killed -p 127.0.0.1::8000 "${hardened[@]}" "$image" > "$work/id"
address=http://$(podman port killed 8000 2> "$work/said")
python3 tests/container/outside.py ready "$address"
"$python" tests/container/reports.py "$address" service/demo/record.json > "$work/again" || fail "the reports"
cmp -s "$work/reports" "$work/again" || { cat "$work/again" >&2; fail "another container makes other reports"; }
echo "a second container makes the same reports, byte for byte"
code=0
python3 tests/container/outside.py stop "$address" service/demo/record.json podman kill -s KILL killed 2> "$work/said" || code=$?
[ "$code" = 3 ] || fail "SIGKILL in the middle of a request ended with $code: the check of SIGTERM cannot fail"
echo "SIGKILL loses the request, as it must"

step "memory over the limit"
touched='import sys; held = b"x" * (int(sys.argv[1]) << 20); print(len(held) >> 20, "MiB taken")'
half=$((${memory%m} / 2))
podman run --rm "${hardened[@]}" --entrypoint python "$image" -c "$touched" "$half" 2> "$work/said" || fail "$half MiB were refused"
code=0
podman run --rm "${hardened[@]}" --entrypoint python "$image" -c "$touched" $((${memory%m} * 2)) 2> "$work/said" || code=$?
[ "$code" = 137 ] || fail "twice the limit ended with $code, not with a kill"
echo "twice the limit: killed ($code)"

step "the pod of the cluster, played here with its maps"
port=$(python3 -c 'import socket; print(socket.create_server(("127.0.0.1", 0)).getsockname()[1])')
{
  cat deploy/kubernetes/configuration.yaml
  echo ---
  sed -e "s|image: stability-test-service:.*|image: $image|" \
    -e "s|containerPort: 8000|&\n              hostIP: 127.0.0.1\n              hostPort: $port|" deploy/kubernetes/deployment.yaml
} > "$work/pod.yaml"
quietly podman kube play "$work/pod.yaml" > "$work/id"
python3 tests/container/outside.py ready "http://127.0.0.1:$port"
python3 tests/container/outside.py mounted "http://127.0.0.1:$port"
limit=$(sed -n '/limits:/,$ s/ *memory: \([0-9]*\)Mi/\1m/p' deploy/kubernetes/deployment.yaml | head -n 1)
podman exec -i stability-test-service-pod-0-service python - "$limit" < tests/container/inside.py || fail "the pod is not as it should be"
quietly podman kube down "$work/pod.yaml" > "$work/id"

step "two of them behind the proxy: restarted one after the other under load"
python3 tests/container/rolling.py "$image" deploy/proxy.cfg
step "done"
