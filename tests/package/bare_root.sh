# SPDX-License-Identifier: GPL-3.0-or-later
# Sourced by life_cycle.sh and fresh_root.sh. bare_root SUITE ROOT SCRATCH makes a root of Debian SUITE with only apt in the folder ROOT, from
# the mirror that this machine's apt uses. Run it as root; it needs mmdebstrap and the network.
bare_root() {
  local suite=$1 root=$2 scratch=$3 own
  own=$(. /etc/os-release && echo "$VERSION_CODENAME")
  apt-get indextargets --format 'deb $(SITE) $(RELEASE) $(COMPONENT)' 'Created-By: Packages' 'Origin: Debian' |
    grep -E " $own(-security|-updates)? " | sed "s/ $own/ $suite/" | sort -u >"$scratch/sources.list"
  if [ ! -s "$scratch/sources.list" ]; then
    echo "apt on this machine has no lists of Debian $own; run apt-get update" >&2
    return 1
  fi
  apt-config dump | grep -E '^Acquire::https?::Proxy ' >"$scratch/proxy.conf" || true
  mmdebstrap --quiet --variant=apt --aptopt="$scratch/proxy.conf" "$suite" "$root" "$scratch/sources.list"
  cp /etc/resolv.conf "$root/etc/resolv.conf"
}
