#!/bin/sh
# SPDX-License-Identifier: Apache-2.0
# Prints the line coverage of the readers (src/formats) by their own tests, with clang's source-based
# coverage; last, the whole. Run in the repository: tests/coverage.sh [BUILD_FOLDER]
set -eu
build=${1:-build/line-coverage}
pick() { command -v "$1-14" || command -v "$1"; }
cov=$(pick llvm-cov)
profdata=$(pick llvm-profdata)

mkdir -p "$build"
build=$(cd "$build" && pwd)
cmake -S . -B "$build" -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_BUILD_TYPE=Release \
  -DCMAKE_CXX_FLAGS="-fprofile-instr-generate -fcoverage-mapping" -DCMAKE_CXX_FLAGS_RELEASE=-O1 > "$build/build.log" 2>&1
ninja -C "$build" test_formats >> "$build/build.log" 2>&1
LLVM_PROFILE_FILE="$build/formats.profraw" "$build/tests/test_formats" --gtest_brief=1 || echo "some tests failed"
"$profdata" merge -o "$build/formats.profdata" "$build/formats.profraw"
"$cov" report "$build/tests/test_formats" -instr-profile="$build/formats.profdata" \
  --show-region-summary=false --show-branch-summary=false |
  awk '$1 ~ /^src\/formats\// { print $NF, $1; lines += $(NF - 2); missed += $(NF - 1) }
    END { printf "%.2f%% of %d lines of src/formats\n", 100 * (lines - missed) / lines, lines }'
