#include "daemon/intake/recording_reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <thread>

namespace coilward {
namespace {

struct Kept {
  std::string topic, payload, time;
  bool retained = false;
};

struct Reading_ {
  std::vector<Kept> messages;
  std::vector<std::pair<std::uint64_t, std::string>> bad;
  std::uint64_t lines = 0, cut = 0;
};

Reading_ read_all(RecordingReader reader) {
  Reading_ all;
  reader.on_bad_line([&](std::uint64_t line, std::string_view why) { all.bad.emplace_back(line, why); });
  for (Message m; reader.next(m);) {
    all.messages.push_back(
        {std::string(m.topic), std::string(m.payload), format_rfc3339(m.arrival), m.retained});
  }
  EXPECT_EQ(reader.error(), "");
  EXPECT_EQ(reader.bad_lines(), all.bad.size());
  all.lines = reader.lines();
  all.cut = reader.cut_payloads();
  return all;
}

Reading_ read_text(const std::string& text) {
  std::FILE* file = std::tmpfile();
  std::fwrite(text.data(), 1, text.size(), file);
  std::rewind(file);
  Reading_ all = read_all(RecordingReader(::dup(::fileno(file))));
  std::fclose(file);
  return all;
}

Reading_ read_case(const std::string& name) {
  auto reader =
      RecordingReader::open(std::string(COILWARD_SOURCE_DIR) + "/daemon/intake/recording_cases/" + name);
  EXPECT_TRUE(reader);
  return read_all(std::move(*reader));
}

std::string payload_of(std::string line) {
  RecordingParser parser;
  Message message;
  EXPECT_TRUE(parser.parse(line, message)) << line << ": " << parser.why();
  return std::string(message.payload);
}

std::string why_not(std::string line) {
  RecordingParser parser;
  Message message;
  EXPECT_FALSE(parser.parse(line, message)) << line;
  return parser.why();
}

std::string with(const std::string& payload) {
  return R"({"tst":"2026-05-04T06:12:09Z","topic":"a","payload":)" + payload + "}";
}

TEST(RecordingCases, StringPayloadsOfARealRecorder) {
  const Reading_ all = read_case("mosquitto_sub_j_utc.jsonl");
  ASSERT_EQ(all.messages.size(), 18u);
  EXPECT_TRUE(all.bad.empty());
  EXPECT_EQ(all.messages[0].topic, "coilward/a/measure/zone/3/current");
  EXPECT_EQ(all.messages[0].payload, "0.001");
  EXPECT_EQ(all.messages[0].time, "2026-11-25T12:47:39.330Z");
  EXPECT_TRUE(all.messages[0].retained);
  EXPECT_FALSE(all.messages[1].retained);
  EXPECT_EQ(all.messages[2].payload, " 0.231 ");
  EXPECT_EQ(all.messages[5].payload,
            R"([{"bn":"zone/1/current","bu":"A","bt":-0.1,"v":0.4},{"t":0.01,"v":0.39}])");
  EXPECT_EQ(all.messages[7].payload,
            "\x82\xa3!aa");  // the recorder cut eleven bytes of CBOR at the zero byte
  EXPECT_EQ(all.cut, 1u);
  EXPECT_EQ(all.messages[8].payload,
            "\x82\xa3"
            "abc\xf0\x9f\x98\x80 \xc3\xa9 \xed\xa0\x80 end");
  EXPECT_EQ(all.messages[9].payload, "");
  EXPECT_EQ(all.messages[10].payload, "he said \"hi\" \\ back / é ü ");
  EXPECT_EQ(all.messages[13].topic, "coilward/a/tö\"p");
  EXPECT_EQ(all.messages[14].payload, "null");
}

TEST(RecordingCases, InlineJsonAndLocalTimeWithOffset) {
  const Reading_ all = read_case("mosquitto_sub_J_boise.jsonl");
  ASSERT_EQ(all.messages.size(), 12u);
  EXPECT_TRUE(all.bad.empty());
  EXPECT_EQ(all.messages[0].time, "2026-11-25T12:47:39.366Z");
  EXPECT_EQ(all.messages[0].payload, "0.001");
  EXPECT_EQ(all.messages[3].payload, "true");
  EXPECT_EQ(all.messages[4].payload,
            R"([{"bn":"zone/1/current","bu":"A","bt":-0.1,"v":0.4},{"t":0.01,"v":0.39}])");
  EXPECT_EQ(all.messages[6].payload, "");      // null, payloadlen 0
  EXPECT_EQ(all.messages[8].payload, "null");  // null, payloadlen 4
  EXPECT_EQ(all.messages[11].payload, "quoted");
}

TEST(RecordingCases, PropertiesOfMqtt5ArePassedOver) {
  const Reading_ all = read_case("mosquitto_sub_j_v5_kolkata.jsonl");
  ASSERT_EQ(all.messages.size(), 18u);
  EXPECT_EQ(all.messages[12].payload, "1");
  EXPECT_EQ(all.messages[12].time, "2026-11-25T12:47:40.977Z");
}

TEST(RecordingLine, KeyOrderAndSpacingAreFree) {
  RecordingParser parser;
  Message message;
  const std::string line =
      R"( { "payload" : {"v": [1, {"x":"}]\""}]} , "retain":true, "dup": 1,"topic": "a\/b", "mid":7,)"
      R"("tst" : "2026-05-04T00:12:09.25-0600" } )";
  ASSERT_TRUE(parser.parse(line, message)) << parser.why();
  EXPECT_EQ(message.payload, R"({"v": [1, {"x":"}]\""}]})");
  EXPECT_EQ(message.topic, "a/b");
  EXPECT_EQ(format_rfc3339(message.arrival), "2026-05-04T06:12:09.250Z");
  EXPECT_TRUE(message.retained);
  EXPECT_TRUE(message.duplicate);
}

TEST(RecordingLine, TimesOfManyForms) {
  for (const auto& [text, utc] : std::vector<std::pair<const char*, const char*>>{
           {"2026-05-04T06:12:09Z", "2026-05-04T06:12:09.000Z"},
           {"2026-05-04T06:12:09.5Z", "2026-05-04T06:12:09.500Z"},
           {"2026-05-04T06:12:09.123456Z+0000", "2026-05-04T06:12:09.123Z"},
           {"2026-05-04T00:12:09.123456789-06:00", "2026-05-04T06:12:09.123Z"},
           {"2026-05-04T11:42:09.1Z+0530", "2026-05-04T06:12:09.100Z"},
           {"2026-12-31T23:59:60Z", "2027-01-01T00:00:00.000Z"},
           {"2026-05-04T06:12:09+00", "2026-05-04T06:12:09.000Z"}}) {
    RecordingParser parser;
    Message message;
    ASSERT_TRUE(parser.parse(R"({"tst":")" + std::string(text) + R"(","topic":"a","payload":"1"})", message))
        << text;
    EXPECT_EQ(format_rfc3339(message.arrival), utc) << text;
  }
}

TEST(RecordingLine, AnotherMinuteOrOffsetIsNotMistakenForTheLast) {
  RecordingParser parser;
  Message message;
  for (const auto& [text, utc] : std::vector<std::pair<const char*, const char*>>{
           {"2026-05-04T06:12:09.1Z", "2026-05-04T06:12:09.100Z"},
           {"2026-05-04T06:13:09.1Z", "2026-05-04T06:13:09.100Z"},
           {"2026-05-04T00:13:09.1-0600", "2026-05-04T06:13:09.100Z"},
           {"2026-05-04T06:13:09.1Z", "2026-05-04T06:13:09.100Z"}}) {
    ASSERT_TRUE(parser.parse(R"({"tst":")" + std::string(text) + R"(","topic":"a","payload":"1"})", message));
    EXPECT_EQ(format_rfc3339(message.arrival), utc);
  }
}

TEST(RecordingLine, PayloadForms) {
  EXPECT_EQ(payload_of(with("0.2310")), "0.2310");
  EXPECT_EQ(payload_of(with("-1e-3 ")), "-1e-3");
  EXPECT_EQ(payload_of(with("false")), "false");
  EXPECT_EQ(payload_of(with(R"("a\u00e9\ud83d\ude00\n\t\"\\\/\b\f\r")")),
            "a\xc3\xa9\xf0\x9f\x98\x80\n\t\"\\/\b\f\r");
  EXPECT_EQ(payload_of(with(R"("\udc82\udca3x")")), "\x82\xa3x");
  EXPECT_EQ(payload_of(with(R"("\u0000")")), std::string(1, '\0'));
  EXPECT_EQ(payload_of(R"({"\u0074opic":"a","tst":"2026-05-04T06:12:09Z","payload": [1, 2] })"), "[1, 2]");
  EXPECT_EQ(payload_of(R"({"\u0074opic":"a","tst":"2026-05-04T06:12:09Z","payload": 1.50 })"), "1.50");
}

TEST(RecordingLine, BytesWrittenAsCharacters) {
  EXPECT_EQ(
      payload_of(R"({"tst":"2026-05-04T06:12:09Z","topic":"a","payloadlen":3,"payload":"\u0082\u00a3a"})"),
      "\x82\xa3"
      "a");
  // A text is not taken for bytes, however its length was counted.
  EXPECT_EQ(payload_of(R"({"tst":"2026-05-04T06:12:09Z","topic":"a","payloadlen":3,"payload":"aéb"})"),
            "aéb");
}

TEST(RecordingLine, WrongLinesSayWhy) {
  using testing::HasSubstr;
  EXPECT_THAT(why_not("hello"), HasSubstr("not a JSON object"));
  EXPECT_THAT(why_not("[1,2]"), HasSubstr("not a JSON object"));
  EXPECT_THAT(why_not(with("\"1") + "x"), HasSubstr("not a JSON object"));
  EXPECT_THAT(why_not(with("1") + "x"), HasSubstr("not a JSON object"));
  EXPECT_THAT(why_not(with("\"\\q\"")), HasSubstr("not a JSON object"));
  EXPECT_THAT(why_not(R"({"topic":"a","payload":1})"), HasSubstr("no \"tst\""));
  EXPECT_THAT(why_not(R"({"tst":"yesterday","topic":"a","payload":1})"), HasSubstr("yesterday"));
  EXPECT_THAT(why_not(R"({"tst":"2026-02-30T06:12:09Z","topic":"a","payload":1})"), HasSubstr("no time"));
  EXPECT_THAT(why_not(R"({"tst":"2026-05-04T06:12:09Z","payload":1})"), HasSubstr("no \"topic\""));
  EXPECT_THAT(why_not(R"({"tst":"2026-05-04T06:12:09Z","topic":"a"})"), HasSubstr("no \"payload\""));
}

TEST(RecordingLine, CutAtEveryLengthIsRefusedOrWhole) {
  const std::string line = R"({"tst":"2026-05-04T06:12:09Z","topic":"a","qos":0,"payload":"[{\"v\":1}]"})";
  RecordingParser parser;
  for (std::size_t size = 1; size < line.size(); ++size) {
    Message message;
    EXPECT_FALSE(parser.parse(line.substr(0, size), message)) << size;
  }
}

TEST(RecordingReader, BadAndBlankLinesDoNotStopIt) {
  const Reading_ all = read_text("\xEF\xBB\xBF" + with("1") + "\r\n\r\n\nnonsense\n" + with("2") +
                                 "\n{\"tst\":3}\n" + with("3"));
  ASSERT_EQ(all.messages.size(), 3u);
  EXPECT_EQ(all.messages[2].payload, "3");
  ASSERT_EQ(all.bad.size(), 2u);
  EXPECT_EQ(all.bad[0].first, 4u);
  EXPECT_EQ(all.bad[1].first, 6u);
  EXPECT_EQ(all.lines, 7u);
}

TEST(RecordingReader, LinesUpToSixteenMegabytes) {
  const std::string fits = with('"' + std::string((16u << 20) - 100, 'x') + '"');
  const std::string too_long = with('"' + std::string((16u << 20) + 10, 'y') + '"');
  const Reading_ all =
      read_text(too_long + "\n" + fits + "\n" + too_long + too_long + too_long + "\n" + with("7") + "\n");
  ASSERT_EQ(all.messages.size(), 2u);
  EXPECT_EQ(all.messages[0].payload.size(), (16u << 20) - 100);
  EXPECT_EQ(all.messages[1].payload, "7");
  ASSERT_EQ(all.bad.size(), 2u);
  EXPECT_EQ(all.bad[0].first, 1u);
  EXPECT_EQ(all.bad[1].first, 3u);
}

TEST(RecordingReader, ManyLinesOverBlockBorders) {
  std::string text;
  for (int i = 0; i < 60000; ++i)
    text += with('"' + std::to_string(i) + std::string(i % 97, '.') + '"') + "\n";
  const Reading_ all = read_text(text);
  ASSERT_EQ(all.messages.size(), 60000u);
  for (int i = 0; i < 60000; ++i) ASSERT_EQ(std::stoi(all.messages[i].payload), i);
}

TEST(RecordingReader, APipeIsReadAsItComes) {
  int ends[2];
  ASSERT_EQ(::pipe(ends), 0);
  RecordingReader reader(ends[0]);
  Message message;
  for (int i = 0; i < 3; ++i) {  // each is given before the next is written, or this hangs
    const std::string line = with(std::to_string(i)) + "\n";
    ASSERT_EQ(::write(ends[1], line.data(), line.size()), static_cast<ssize_t>(line.size()));
    ASSERT_TRUE(reader.next(message));
    EXPECT_EQ(message.payload, std::to_string(i));
  }
  ::close(ends[1]);
  EXPECT_FALSE(reader.next(message));
  EXPECT_EQ(reader.error(), "");
}

TEST(RecordingReader, AMissingFileIsSaid) {
  const auto reader = RecordingReader::open("/nowhere/a.jsonl");
  ASSERT_FALSE(reader);
  EXPECT_EQ(reader.error().cause, Cause::not_found);
}

}  // namespace
}  // namespace coilward
