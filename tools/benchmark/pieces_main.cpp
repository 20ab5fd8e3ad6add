// Time of each piece by Google Benchmark, with its options (--benchmark_filter=REGEX, --benchmark_format=json
// ...).
//   bench-pieces list              the pieces that callgrind counts: how often, and the name
//   bench-pieces count PIECE N     prepares it and does it N times its own number: for callgrind, which takes
//   the
//                                  difference of two counts, so that preparing does not matter
#include <benchmark/benchmark.h>

#include <cstring>
#include <iostream>

#include "tools/benchmark/pieces.h"

namespace coilward::bench {
namespace {

std::vector<Piece> all() {
  std::vector<Piece> pieces = intake_pieces();
  for (auto more : {history_pieces(), run_pieces()}) pieces.insert(pieces.end(), more.begin(), more.end());
  return pieces;
}

int list() {
  for (const Piece& piece : all())
    if (piece.counted > 0) std::cout << piece.counted << ' ' << piece.name << '\n';
  return 0;
}

int count(const std::string& name, int times) {
  for (const Piece& piece : all()) {
    if (piece.name != name) continue;
    const auto once = piece.prepare();
    for (int i = 0; i < times * piece.counted; ++i) once();
    return 0;
  }
  std::cerr << "bench-pieces: there is no piece '" << name << "'\n";
  return 2;
}

void measure(benchmark::State& state, const Piece& piece) {
  const auto once = piece.prepare();
  for (auto _ : state) once();
}

int time_all(int words, char** word) {
  benchmark::Initialize(&words, word);
  if (benchmark::ReportUnrecognizedArguments(words, word)) return 2;
  for (const Piece& piece : all()) benchmark::RegisterBenchmark(piece.name.c_str(), measure, piece);
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}

}  // namespace
}  // namespace coilward::bench

int main(int words, char** word) {
  using namespace coilward::bench;
  const std::string what = words > 1 ? word[1] : "";
  if (what == "list") return list();
  if (what == "count" && words == 4) return count(word[2], std::stoi(word[3]));
  return time_all(words, word);
}
