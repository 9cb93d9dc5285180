#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# fresh_root.sh [SUITE [COMMANDS]] makes a bare Debian root (bookworm, unless another suite is named) with a clone of the last commit, and runs
# README's two commands there, or only the first (1), word for word, each with its time. It takes about half an hour. Run it as root; it needs
# mmdebstrap, git and the network.
set -euo pipefail
. "$(dirname "$0")/bare_root.sh"
suite=${1:-bookworm}
commands=${2:-2}
source=$(cd "$(dirname "$0")/../.." && pwd)

scratch=$(mktemp -d)
root=$scratch/root
trap 'rm -rf --one-file-system "$scratch"' EXIT
bare_root "$suite" "$root" "$scratch"
git clone -q --no-hardlinks "$source" "$root/srv/checkout"
echo "== Debian $(cat "$root/etc/debian_version"), $(git -C "$root/srv/checkout" log -1 --format=%h)"

# Prints the n-th fenced sh block of the README.
readme_block() {
  awk -v wanted="$1" '/^```sh$/ { n++; on = 1; next } /^```$/ { on = 0 } on && n == wanted' "$source/README.md"
}
# Runs a command in the root in a separate mount namespace, so that its mounts end with it.
in_root() {
  unshare --mount --propagation private bash -euo pipefail -c '
    mount -t proc proc "$0/proc"
    mount -t sysfs sysfs "$0/sys"
    mount -t devpts devpts "$0/dev/pts"
    mount -t tmpfs tmpfs "$0/dev/shm"
    exec chroot "$0" /usr/bin/env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin DEBIAN_FRONTEND=noninteractive HOME=/ LC_ALL=C.UTF-8 bash -euo pipefail -c "cd /srv/checkout && $1"
  ' "$root" "$1"
}
for n in $(seq "$commands"); do
  echo "== README's command $n"
  began=$SECONDS
  in_root "$(readme_block $n)"
  echo "== README's command $n: done in $((SECONDS - began)) s"
done
