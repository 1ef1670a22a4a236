#!/bin/sh
# Puts recorded drums, claps and cymbals in the place of pulses: fetches two Debian packages of sounds into a temporary
# folder with apt, unpacks them there and runs the scoreboard on them. Says so and stops where apt or the network is absent.
# Nothing is installed and no sound is kept. Further arguments go to the scoreboard.
set -eu
cd "$(dirname "$0")/../.."
command -v apt-get >/dev/null && command -v dpkg-deb >/dev/null || { echo "apt absent: no recorded sounds to listen to"; exit 0; }
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
for package in hydrogen-data lmms-common; do
	(cd "$folder" && apt-get download "$package" >/dev/null 2>&1) || { echo "$package cannot be fetched: no recorded sounds to listen to"; exit 0; }
	dpkg-deb -x "$folder/$package"_*.deb "$folder/$package"
done
mkdir "$folder/sounds"
mv "$folder/hydrogen-data/usr/share/hydrogen/data/drumkits" "$folder/lmms-common/usr/share/lmms/samples/drums" "$folder/sounds"
go run ./bench/listen -samples "$folder/sounds" "$@"
