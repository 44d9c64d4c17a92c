#!/usr/bin/env bash
# Makes a stand-in for the image that deploy/Dockerfile starts from, out of the same Debian packages, where no image
# registry can be had:  tests/container/base_image.sh FOLDER NAME
# Leaves FOLDER/base.tar and the image NAME. Needs root, mmdebstrap and buildah.
set -euo pipefail
folder=$1
name=$2
export SOURCE_DATE_EPOCH=${SOURCE_DATE_EPOCH:-1700000000}

# As the slim image does: no manuals and translations, and apt leaves no caches behind.
printf 'path-exclude=/usr/share/%s/*\n' man info doc locale groff lintian > "$folder/slim.dpkg"
printf 'path-include=/usr/share/doc/*/copyright\n' >> "$folder/slim.dpkg"
cat > "$folder/docker-clean" <<'APT'
DPkg::Post-Invoke { "rm -f /var/cache/apt/archives/*.deb /var/cache/apt/archives/partial/*.deb /var/cache/apt/*.bin || true"; };
APT::Update::Post-Invoke { "rm -f /var/cache/apt/archives/*.deb /var/cache/apt/archives/partial/*.deb /var/cache/apt/*.bin || true"; };
Dir::Cache::pkgcache "";
Dir::Cache::srcpkgcache "";
Acquire::GzipIndexes "true";
APT

# usrmerge would bring all of perl: the folders are merged by the hook, and the package is kept out while this runs.
# shellcheck disable=SC2016  # $1 is expanded by the hooks
mmdebstrap --quiet --variant=minbase --include=ca-certificates \
  --hook-dir=/usr/share/mmdebstrap/hooks/merged-usr \
  --setup-hook='mkdir -p "$1/etc/apt/preferences.d"' \
  --setup-hook='printf "Package: usrmerge\nPin: release *\nPin-Priority: -1\n" > "$1/etc/apt/preferences.d/no-usrmerge"' \
  --customize-hook='rm -f "$1/etc/apt/preferences.d/no-usrmerge"' \
  --customize-hook=': > "$1/etc/resolv.conf"; echo localhost > "$1/etc/hostname"' \
  --customize-hook="copy-in $folder/docker-clean /etc/apt/apt.conf.d" \
  --customize-hook='rm -rf "$1"/var/lib/apt/lists/* "$1"/var/cache/apt/*.bin' \
  --dpkgopt="$folder/slim.dpkg" --aptopt='Acquire::Languages "none"' --aptopt='APT::Install-Recommends "false"' \
  bookworm "$folder/base.tar"

printf 'FROM scratch\nADD base.tar /\nCMD ["bash"]\n' > "$folder/Dockerfile.base"
buildah bud -q --timestamp "$SOURCE_DATE_EPOCH" --isolation chroot --format docker \
  -f "$folder/Dockerfile.base" -t "$name" "$folder" > "$folder/base.id"
