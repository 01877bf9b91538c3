# SPDX-License-Identifier: Apache-2.0
# What happens in the virtual machine (tests/usb/machine): a simulated adapter is plugged in, found, used over both of
# its links and pulled out. Everything seen is left in files; tests/usb/machine_test.cpp judges them. With a file
# `full` beside it, the whole story.

udc=dummy_udc.0
record=r
gadget=/sys/kernel/config/usb_gadget/isthmus-sim.$udc

uptime() { cut -d ' ' -f 1 /proc/uptime; }

# Waits for a condition, at most 20 s.
wait_for() {
  left=400
  until eval "$1"; do
    left=$((left - 1))
    [ $left -gt 0 ] || { echo "waited in vain: $1" >>trouble.txt; exit 1; }
    usleep 50000
  done
}

on_the_bus() { grep -qs 1209 /sys/bus/usb/devices/*/idVendor; }
plugged() { on_the_bus && [ -c /dev/ttyACM0 ] && [ -c /dev/usbtmc0 ]; }
gone() { ! on_the_bus && [ ! -e /dev/ttyACM0 ]; }

plug() {  # scenario
  isthmus-sim "$1" --fixture f.yaml --gadget >sim.txt 2>>sim.err &
  simulator=$!
  wait_for plugged
  usb=$(sed -n 1p sim.txt)
  serial=$(sed -n 2p sim.txt)
}
unplug() {
  kill "$simulator"
  wait "$simulator"
  echo $? >>sim.codes
  wait_for gone
}

# A run; its JSON, messages and exit code are left under its name.
measure() {  # name, adapter, options
  name=$1 adapter=$2
  shift 2
  isthmus test board.yaml --fixture f.yaml --unit U1 --record "/tmp/$record.db" --adapter "$adapter" --json "$@" \
    >"$name.json" 2>"$name.err"
  echo $? >"$name.code"
}

# A run whose cable is pulled when some answers have come. Left besides: when it was pulled, noticed, over.
pull() {  # name, adapter, readings, options
  rm -f trace
  pull_name=$1 readings=$3 pull_adapter=$2
  shift 3
  (export ISTHMUS_TRACE=trace; measure "$pull_name" "$pull_adapter" "$@") &
  test=$!
  wait_for '[ "$(grep -o "#H" trace 2>/dev/null | wc -l)" -ge '"$readings"' ]'
  echo >$gadget/UDC
  pulled=$(uptime)
  wait_for 'grep -q "^ *[0-9.]* ! " trace'
  noticed=$(uptime)
  wait $test
  echo "$pulled $noticed $(uptime)" >"$pull_name.times"
  wait_for gone
}
plug_again() {
  echo $udc >$gadget/UDC
  wait_for plugged
}

isthmus adapters --json >none.json

plug bench.yaml
# The kernel's USBTMC driver was written by others: what does it make of the simulated adapter?
exec 5<>/dev/usbtmc0
echo '*IDN?' >&5
head -n 1 <&5 >kernel.txt 2>kernel.err
exec 5>&-
isthmus adapters --json >adapters.json
isthmus adapters >adapters.txt
measure usb "$usb"
measure serial "$serial"
unplug

plug slow.yaml
record=broken
pull pulled-usb "$usb" 3
plug_again
pull pulled-serial "$serial" 3
plug_again
measure resumed-serial "$serial" --resume
record=r
unplug

[ -e full ] || exit 0

# Who may open it.
plug bench.yaml
su nobody -c 'isthmus adapters --json' >nobody.json 2>nobody.err
su nobody -c "isthmus adapters --check $usb" >nobody-usb.txt 2>&1
if [ -e rules ]; then
  mkdir -p /run/udev /etc/udev/rules.d
  cp rules/* /etc/udev/rules.d/
  device=$(grep -l 1209 /sys/bus/usb/devices/*/idVendor | head -n 1)
  udevadm test --action=add "$(dirname "$device")" >udev-usb.txt 2>&1
  udevadm test --action=add /sys/class/tty/ttyACM0 >udev-tty.txt 2>&1
fi

# The kernel's own driver gets the interface back.
measure lent "$usb"
ls -l /sys/bus/usb/devices/*/driver | grep -c usbtmc >driver.txt
unplug

# Two programs on one adapter.
plug slow.yaml
for link in "$usb" "$serial"; do
  rm -f trace
  (export ISTHMUS_TRACE=trace; measure "first-${link%%:*}" "$link") &
  first=$!
  wait_for 'grep -q "#H" trace 2>/dev/null'
  measure "second-${link%%:*}" "$link"
  isthmus adapters --json >"busy-${link%%:*}.json"
  wait $first
done
unplug

# A link that garbles, drops and stalls.
plug poor.yaml
for n in 1 2 3; do
  measure "poor-usb-$n" "$usb"
  measure "poor-serial-$n" "$serial"
done
unplug

# The simulator is killed in the middle of a run, and another takes its place.
plug slow.yaml
rm -f trace
(export ISTHMUS_TRACE=trace; measure killed "$usb") &
test=$!
wait_for 'grep -q "#H" trace 2>/dev/null'
kill -9 "$simulator"
wait $test
wait_for gone
plug bench.yaml
measure after-killed "$usb"
unplug

# The scenario pulls the plug after so many replies.
for n in 3 6 7 8 9 10 12; do
  sed "s/^link:.*/link: {unplug-after: $n}/" bench.yaml >unplug.yaml
  for link in usb serial; do
    plug unplug.yaml
    measure "after-$n-$link" "$(grep "^$link" sim.txt)"
    wait "$simulator"
    echo $? >>unplugged.codes
    wait_for gone
  done
done

# Pulled at other moments, plugged in again, resumed over the other link.
for n in 1 8 14; do
  plug slow.yaml
  record=moment-$n
  pull "moment-$n" "$usb" "$n"
  plug_again
  measure "resumed-$n" "$serial" --resume
  record=r
  measure "anew-$n" "$usb"
  unplug
done
