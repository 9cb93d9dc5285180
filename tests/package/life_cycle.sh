#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# life_cycle.sh CPACK BUILD makes the .deb of a finished build, installs it by apt in a new bare Debian root, uses it there, purges it, and
# checks that the root is as before. Run it as root; it needs mmdebstrap and the network.
set -euo pipefail
. "$(dirname "$0")/bare_root.sh"
cpack=$1
build=$2

scratch=$(mktemp -d)
root=$scratch/root
leave() {
  mountpoint -q "$root/proc" && umount "$root/proc"
  rm -rf "$scratch"
}
trap leave EXIT
complain() {
  echo "package_life_cycle: $*" >&2
  exit 1
}

echo "== the packages"
"$cpack" --config "$build/CPackConfig.cmake" -G DEB -B "$scratch/made" >"$scratch/cpack.log" || { cat "$scratch/cpack.log"; exit 1; }
package=$(echo "$scratch"/made/evenwall_*.deb)
dpkg-deb --info "$package"
dpkg-deb --info "$scratch"/made/libevenwall-dev_*.deb | grep -E '^ (Package|Depends):'

echo "== a bare root"
bare_root "$(. /etc/os-release && echo "$VERSION_CODENAME")" "$root" "$scratch"
mount -t proc proc "$root/proc" 2>/dev/null || true
in_root() {
  chroot "$root" /usr/bin/env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin DEBIAN_FRONTEND=noninteractive LC_ALL=C.UTF-8 "$@"
}
# Prints every entry with its mode and link target, and every file's checksum, without apt's and dpkg's own files.
tree() {
  local own=(-path ./proc -o -path ./var/lib/dpkg -o -path ./var/lib/apt -o -path ./var/cache -o -path ./var/log -o -path ./package.deb)
  (
    cd "$root"
    find . \( "${own[@]}" \) -prune -o -printf '%p %m %y %l\n'
    find . \( "${own[@]}" \) -prune -o -type f -print0 | xargs -0 sha256sum
  ) | LC_ALL=C sort
}

cp "$package" "$root/package.deb"
in_root apt-get update -qq
tree >"$scratch/before"
in_root dpkg --get-selections >"$scratch/selected-before"

echo "== installed by apt"
in_root apt-get install -qq -y --no-install-recommends /package.deb >"$scratch/apt.log" 2>&1 || { cat "$scratch/apt.log"; exit 1; }
in_root dpkg --verify evenwall
in_root evenwall --version
for file in man/man1/evenwall.1.gz bash-completion/completions/evenwall doc/evenwall/copyright doc/evenwall/changelog.gz \
  doc/evenwall/changelog.Debian.gz doc/evenwall/manual.md doc/evenwall/warnings.md; do
  [ -s "$root/usr/share/$file" ] || complain "/usr/share/$file is not installed"
done
# Every file that the manual links to must be installed.
sed -n 's/](\([^):#]*\)[^)]*)/\n@\1\n/gp' "$root"/usr/share/doc/evenwall/manual.md | sed -n 's/^@//p' | sort -u | while read -r linked; do
  [ -s "$root/usr/share/doc/evenwall/$linked" ] || complain "manual.md links to $linked, which is not installed"
done
in_root gzip -dc /usr/share/man/man1/evenwall.1.gz | grep -q '^\.TH EVENWALL 1' || complain "the installed manual page is not valid"
in_root bash -ec '. /usr/share/bash-completion/completions/evenwall; complete -p evenwall'

echo "== used"
in_root sh -ec 'cd /usr/share/doc/evenwall
  evenwall simulate --scenario data/demo/scenario.json --seed 7 -o /demo --quiet
  evenwall solve /demo
  evenwall solve /demo --json --quiet -o /demo/solution.json'
python3 - "$root/demo" <<'PYTHON'
import json, pathlib, sys
folder = pathlib.Path(sys.argv[1])
truth, solution = (json.loads((folder / name).read_text()) for name in ("truth.json", "solution.json"))
off_deg = solution["least_crosstalk"]["tilt_deg"] - truth["least_crosstalk_deg"]
print(f"least crosstalk: {off_deg:+.4f} degrees from the true value")
assert abs(off_deg) < 0.2  # as in data/demo/demo.cmake
PYTHON
rm -r "$root/demo"

echo "== purged"
in_root apt-get purge -qq -y --autoremove evenwall >"$scratch/apt.log" 2>&1 || { cat "$scratch/apt.log"; exit 1; }
in_root dpkg --get-selections >"$scratch/selected-after"
diff "$scratch/selected-before" "$scratch/selected-after" || complain "packages stay behind"
tree >"$scratch/after"
[ "$(wc -l <"$scratch/before")" -gt 1000 ] || complain "the bare root was not read"
diff "$scratch/before" "$scratch/after" || complain "the root is not as it was"
echo "package_life_cycle: the root is unchanged, $(wc -l <"$scratch/after") entries alike"
