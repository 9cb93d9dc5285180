#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# fresh_root.sh [SUITE [COMMANDS]]: a bare Debian root (bookworm, unless another suite is named), a clone of what is committed, and in it README's
# two commands, or the first of them (1), word for word, each with its time. Some half an hour. As root; needs mmdebstrap, git and the network.
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

# The n-th fenced sh block of the README.
readme_block() {
  awk -v wanted="$1" '/^```sh$/ { n++; on = 1; next } /^```$/ { on = 0 } on && n == wanted' "$source/README.md"
}
# In a mount namespace of its own: what is mounted goes with it.
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
