#include "daemon/intake/intake.h"
#include "tools/benchmark/message_text.h"
#include "tools/benchmark/pieces.h"
#include "tools/benchmark/stream.h"

namespace coilward::bench {
namespace {

constexpr int kZonesSpeaking = 24;

Config site() {
  std::string text = "[site]\nid = \"bench\"\n";
  for (int zone = 1; zone <= kZonesSpeaking; ++zone) text += fmt::format("[[zone]]\nnumber = {}\n", zone);
  return parse_config(text, "bench.toml").value();
}

struct Texts {
  Config config = site();
  PluginHost host{COILWARD_PLUGINS};
  std::unique_ptr<Intake> intake = Intake::make(config, host).value();
  std::vector<Reading> readings = ReadingStream(kZonesSpeaking, from_ms(1'777'852'800'000), 1).seconds(600);
  std::vector<std::string> topics, payloads;
  std::size_t next = 0;
};

using PayloadOf = std::function<std::string(const Reading&)>;

std::function<void()> messages(const PayloadOf& payload) {
  auto texts = std::make_shared<Texts>();
  for (const Reading& reading : texts->readings) {
    texts->topics.push_back(topic_of(reading));
    texts->payloads.push_back(payload(reading));
  }
  // Round and round, each time later, since one that comes again is a repetition.
  return [texts] {
    const std::size_t count = texts->readings.size(), at = texts->next++ % count;
    const auto again = std::chrono::minutes{10} * static_cast<int>(texts->next / count);
    texts->intake->message({texts->topics[at], texts->payloads[at], texts->readings[at].time + again});
  };
}

std::string json_of(const Reading& reading) {
  return fmt::format(R"({{"value":{:.0f},"unit":"mA"}})", 1000 * reading.value);
}

std::string senml_of_arrival(const Reading& reading) {
  return fmt::format(R"([{{"n":"zone/{}/current","u":"A","v":{}}}])", reading.channel.index, reading.value);
}

}  // namespace

std::vector<Piece> intake_pieces() {
  constexpr int kCounted = 20'000;
  const auto piece = [](const std::string& name, const PayloadOf& payload) {
    return Piece{"message/" + name, [payload] { return messages(payload); }, kCounted};
  };
  return {piece("number", number_of), piece("senml", senml_of_arrival), piece("json", json_of),
          piece("refused", [](const Reading&) { return std::string("0,231"); })};
}

}  // namespace coilward::bench
