// SPDX-License-Identifier: Apache-2.0
// Runs a fuzz target over the files of a folder, each also cut at its middle: the usual tests'
// stand-in for libFuzzer. REPLAY FOLDER; fails when the folder holds no file.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <vector>

#include "tests/fuzz/fuzz.hpp"

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(argv[1])) {
    if (entry.is_regular_file()) files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  for (const std::filesystem::path& file : files) {
    std::ifstream in(file, std::ios::binary);
    const std::vector<char> bytes{std::istreambuf_iterator<char>(in), {}};
    std::cout << file.filename().string() << std::endl;  // the last one named is the one that broke
    const auto* const data = reinterpret_cast<const std::uint8_t*>(bytes.data());
    LLVMFuzzerTestOneInput(data, bytes.size());
    LLVMFuzzerTestOneInput(data, bytes.size() / 2);
  }
  return files.empty() ? 1 : 0;
}
