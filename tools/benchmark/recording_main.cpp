// A recording of the stream, and what taking one apart costs at least.
//   bench-recording write FILE ZONES HOURS FORM    as mosquitto_sub -F '%j' prints it; FORM: senml, number
//   bench-recording parse FILE                     each line, and the payload in it, by simdjson and no more;
//                                                  prints the lines, and the processor's microseconds for all
#include <fmt/format.h>
#include <simdjson.h>

#include <string>

#include "daemon/simulate/recording_writer.h"
#include "tools/benchmark/cpu_time.h"
#include "tools/benchmark/message_text.h"
#include "tools/benchmark/stream.h"

namespace coilward::bench {
namespace {

const UtcTime kStart = from_ms(1'777'852'800'000);  // 2026-05-04T00:00:00Z
constexpr std::uint64_t kSeed = 20260504;

int write(const std::string& file, int zones, int hours, bool senml) {
  auto out = simulate::RecordingWriter::open(file);
  ReadingStream stream(zones, kStart, kSeed);
  std::vector<Reading> readings;
  for (int second = 0; out && second < hours * 3600; ++second) {
    readings.clear();
    stream.next_second(readings);
    for (const Reading& each : readings)
      if (!out->write({topic_of(each), senml ? senml_of(each) : number_of(each), each.time})) return 1;
  }
  return out && out->finish() ? 0 : 1;
}

// Reads as the recording's reader does, a large block at a time.
int parse(const std::string& file) {
  simdjson::padded_string text;
  if (simdjson::padded_string::load(file).get(text) != simdjson::SUCCESS) return 1;
  simdjson::dom::parser lines, payloads;
  std::uint64_t count = 0;
  const double before = cpu_us();
  std::string_view rest = text;
  for (std::size_t end; (end = rest.find('\n')) != rest.npos; rest.remove_prefix(end + 1)) {
    std::string_view payload;
    if (lines.parse(rest.data(), end, end + simdjson::SIMDJSON_PADDING > rest.size())["payload"].get(
            payload) != simdjson::SUCCESS)
      return 1;
    simdjson::dom::element value;
    count += payloads.parse(payload.data(), payload.size(), true).get(value) == simdjson::SUCCESS;
  }
  fmt::print("lines {}\ncpu_us {:.0f}\n", count, cpu_us() - before);
  return 0;
}

}  // namespace
}  // namespace coilward::bench

int main(int words, char** word) {
  using namespace coilward::bench;
  const std::string what = words > 2 ? word[1] : "";
  if (what == "write" && words == 6)
    return write(word[2], std::stoi(word[3]), std::stoi(word[4]), std::string(word[5]) == "senml");
  return what == "parse" ? parse(word[2]) : 2;
}
