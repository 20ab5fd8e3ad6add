// The corpus of payloads that stopped other programs, and random abuse under which the count stays exact.
#include <random>

#include "daemon/intake/intake_fixture.h"

namespace coilward {
namespace {

using namespace std::string_literals;

std::vector<std::string> corpus() {
  std::vector<std::string> list = {"",
                                   "\0"s,
                                   "0.2\0"s,
                                   "\0\0\0"s,
                                   "???",
                                   "NaN",
                                   "nan",
                                   "inf",
                                   "-inf",
                                   "1e400",
                                   "-1e400",
                                   "0x1F",
                                   "0,231",
                                   "\"0.231\"",
                                   "null",
                                   "true",
                                   "[]",
                                   "{}",
                                   "[[]]",
                                   "[{}]",
                                   "{\"value\":NaN}",
                                   "{\"value\":1e400}",
                                   "{\"value\":\"0.2\"}",
                                   "{\"value\":null}",
                                   "{\"value\":0,2}",
                                   "[{\"n\":\"zone/4/current\",\"v\":NaN}]",
                                   "[{\"n\":\"zone/4/current\",\"v\":\"1\"}]",
                                   "\xff\xfe\x00"s,
                                   "{\"value\":\"\xc3\x28\"}"s,
                                   "[{\"n\":\"\xed\xa0\x80\",\"v\":1}]"s,
                                   "\xef\xbb\xbf\x30"s,
                                   "\x80",
                                   "\x9f",
                                   "\x81\xa0"s,
                                   "\x9b\xff\xff\xff\xff\xff\xff\xff\xff"s,
                                   "\x81\xa2\x00\x61\x61\x02\xf9\x7e\x00"s,
                                   std::string(100000, '['),
                                   std::string(100000, '[') + std::string(100000, ']'),
                                   "{\"value\":" + std::string(100000, '[') + "1",
                                   std::string(100000, '{'),
                                   std::string(100000, '\x81'),
                                   std::string(10u << 20, '1'),
                                   "[" + std::string(10u << 20, ' ') + "]",
                                   std::string(900000, '7'),
                                   "[{\"n\":\"zone/4/current\",\"t\":1e18,\"v\":1}]",
                                   "[{\"n\":\"zone/4/current\",\"t\":-1e12,\"v\":1}]",
                                   "{\"value\":1,\"time\":-99999999999999999}",
                                   "{\"value\":1,\"time\":\"2026-13-45T99:99:99Z\"}"};
  std::string many = "[";
  for (int i = 0; i < 20000; ++i) many += R"({"n":"zone/4/current","v":1},)";
  many.back() = ']';
  list.push_back(many);
  return list;
}

TEST(IntakeAbuse, TheCorpusIsSurvivedAndCounted) {
  IntakeSite site;
  for (const auto& payload : corpus())
    for (const char* channel : {"zone/4/current", "zone/4/command", "no/such/channel", ""}) {
      const auto before = site.intake().counters().messages;
      for (const auto& reading : site.measure(channel, payload)) {
        EXPECT_TRUE(std::isfinite(reading.value));
        EXPECT_LE(reading.time, site.now + std::chrono::hours{1});
      }
      EXPECT_EQ(site.intake().counters().messages, before + 1);
      site.expect_laws();
      EXPECT_EQ(site.measure("zone/4/voltage", "24.5").size(), 1u);  // the next one is well
    }
  EXPECT_EQ(site.intake().recent_rejects().size(), Intake::kRejectsKept);
  EXPECT_GT(site.intake().counters().dropped_all(), 0u);  // beyond the most values of one message
  EXPECT_GT(site.rejected(Reject::too_large), 0u);
}

TEST(IntakeAbuse, ReadingsOfOneBadValueDoNotTakeTheOthersAlong) {
  IntakeSite site;
  const auto kept = site.measure("x", R"([{"n":"zone/1/current","v":0.2},{"n":"zone/4/current","v":231},
    {"n":"nothing","v":1},{"n":"zone/4/command","vb":true},{"n":"zone/4/voltage","u":"A","v":1}])");
  EXPECT_EQ(kept.size(), 2u);
  EXPECT_EQ(site.intake().counters().received, 5u);
  site.expect_laws();
}

TEST(IntakeAbuse, RingIsPrintableAndBounded) {
  IntakeSite site;
  site.measure("zone/4/current", std::string(1000, '\xff'));
  const auto rejects = site.intake().recent_rejects();
  ASSERT_EQ(rejects.size(), 1u);
  EXPECT_EQ(rejects[0].payload.substr(0, 8), "\\xFF\\xFF");
  EXPECT_LT(rejects[0].payload.size(), 500u);
  EXPECT_EQ(rejects[0].reason, "undecodable");
}

class Abuser {
 public:
  explicit Abuser(unsigned seed) : random_(seed) {}

  void send_one(IntakeSite& site) {
    constexpr const char* kTopics[] = {"coilward/juniper-row-12/measure/zone/4/current",
                                       "coilward/juniper-row-12/measure/zone/1/command",
                                       "coilward/juniper-row-12/measure/gateway",
                                       "coilward/juniper-row-12/report/run",
                                       "meters/4",
                                       "unheard/of"};
    site.now += Millis{static_cast<std::int64_t>(random_() % 3000)};
    const std::string payload = make_payload();
    Message message{.topic = kTopics[random_() % 6], .payload = payload};
    message.retained = one_in(6);
    message.duplicate = one_in(4);
    message.time_unsure = one_in(50);
    site.send(message);
    if (one_in(100)) site.intake().lost_before(random_() % 5);
  }

 private:
  bool one_in(unsigned n) { return random_() % n == 0; }
  double amount() { return static_cast<double>(random_() % 400) / (one_in(8) ? 1 : 1000); }

  std::string make_record() {
    constexpr const char* kNames[] = {"zone/4/current", "x:zone/1/command", "supply/voltage", "humidity", ""};
    constexpr const char* kUnits[] = {"A", "mA", "V", "Cel", "lux"};
    std::string record = fmt::format(R"({{"n":"{}","v":{})", kNames[random_() % 5], amount());
    if (one_in(2)) record += fmt::format(R"(,"u":"{}")", kUnits[random_() % 5]);
    if (one_in(3))
      record += fmt::format(R"(,"t":{})", one_in(2) ? -static_cast<double>(random_() % 10)
                                                    : 1777875000.0 + static_cast<double>(random_() % 60));
    return record + (one_in(40) ? "" : "}");
  }

  std::string make_payload() {
    switch (random_() % 5) {
      case 0:
        return fmt::format("{:.3f}", amount());
      case 1:
        return fmt::format(R"({{"value":{},"time":{}}})", amount(), 1777870000 + random_() % 20000);
      case 2: {
        std::string bytes(random_() % 20, '\0');
        for (auto& c : bytes) c = static_cast<char>(random_());
        return bytes;
      }
      case 3:
        return one_in(2) ? "on" : "off";
      default: {
        std::string pack = "[" + make_record();
        for (auto more = random_() % 4; more > 0; --more) pack += "," + make_record();
        return pack + "]";
      }
    }
  }

  std::mt19937 random_;
};

// Both laws, to the unit, after every message; and every outcome does occur.
TEST(IntakeAbuse, TheCountIsExactUnderRandomAbuse) {
  const std::string sensor =
      "[[sensor]]\ntopic = \"meters/+\"\nchannel = \"zone/4/current\"\nunit = \"mA\"\ndecoder = \"number\"\n";
  for (unsigned seed = 1; seed <= 5; ++seed) {
    IntakeSite site(sensor);
    Abuser abuser(seed);
    std::uint64_t stored = 0;
    for (int i = 0; i < 8000; ++i) {
      abuser.send_one(site);
      const IntakeCounters& c = site.intake().counters();
      ASSERT_EQ(c.messages, c.messages_decoded + c.messages_undecoded + c.messages_lost);
      ASSERT_EQ(c.received, c.stored + c.rejected_all() + c.dropped_all() + c.duplicates);
      ASSERT_GE(c.stored, stored);
      stored = c.stored;
    }
    const IntakeCounters& c = site.intake().counters();
    EXPECT_GT(c.stored, 500u);
    EXPECT_GT(c.duplicates, 0u);
    EXPECT_GT(c.time_unsure, 0u);
    EXPECT_GT(c.messages_lost, 0u);
    for (Reject reason : {Reject::unknown_topic, Reject::undecodable, Reject::not_a_channel,
                          Reject::wrong_unit, Reject::bad_value, Reject::implausible, Reject::retained})
      EXPECT_GT(site.rejected(reason), 0u) << reject_name(reason);
  }
}

}  // namespace
}  // namespace coilward
