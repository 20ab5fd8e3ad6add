// What one message becomes: decoder by payload, channel, unit, plausibility.
#include "daemon/intake/intake.h"

#include "daemon/intake/intake_fixture.h"

namespace coilward {
namespace {

constexpr Channel kZone4{ChannelKind::zone_current, 4};

TEST(Intake, ThePayloadChoosesTheDecoder) {
  IntakeSite site;
  const std::pair<const char*, double> payloads[] = {
      {"0.231", 0.231},
      {R"({"value": 231, "unit": "mA"})", 0.231},
      {R"([{"n": "zone/4/current", "u": "A", "v": 0.231}])", 0.231},
      {"\x81\xa2\x00\x6ezone/4/current\x02\xfb\x3f\xcd\x91\x68\x72\xb0\x20\xc5", 0.231}};
  for (const auto& [payload, value] : payloads) {
    // The CBOR one has a zero byte in it: its length is known from its form.
    const std::string_view bytes =
        payload[0] == '\x81' ? std::string_view(payload, 28) : std::string_view(payload);
    const auto readings = site.measure("zone/4/current", bytes);
    ASSERT_EQ(readings.size(), 1u) << payload;
    EXPECT_EQ(readings[0].channel, kZone4);
    EXPECT_NEAR(readings[0].value, value, 1e-12) << payload;
    EXPECT_EQ(readings[0].time, site.now);
    EXPECT_FALSE(readings[0].time_unsure);
  }
  EXPECT_EQ(site.intake().counters().stored, 4u);
  site.expect_laws();
}

TEST(Intake, EveryChannelOfTheContract) {
  IntakeSite site;
  const std::tuple<const char*, const char*, ChannelKind, int> channels[] = {
      {"zone/4/current", "0.2", ChannelKind::zone_current, 4},
      {"zone/255/voltage", "24", ChannelKind::zone_voltage, 255},
      {"zone/4/command", "on", ChannelKind::zone_command, 4},
      {"master/current", "0.2", ChannelKind::master_current, 0},
      {"master/command", "0", ChannelKind::master_command, 0},
      {"common/main/current", "0.2", ChannelKind::common_current, 0},
      {"supply/voltage", "26.1", ChannelKind::supply_voltage, 0},
      {"air/temperature", "-3", ChannelKind::air_temperature, 0},
      {"soil/temperature", "14.5", ChannelKind::soil_temperature, 0}};
  for (const auto& [name, payload, kind, index] : channels) {
    const auto readings = site.measure(name, payload);
    ASSERT_EQ(readings.size(), 1u) << name;
    EXPECT_EQ(readings[0].channel, (Channel{kind, static_cast<std::uint8_t>(index)})) << name;
  }
}

TEST(Intake, ASenmlNameSaysTheChannelOrTheTopicDoes) {
  IntakeSite site;
  const auto by_name =
      site.measure("gateway", R"([{"bn":"urn:dev:ow:10e2073a01080063:","n":"zone/4/current","v":0.2},
    {"n":"supply/voltage","u":"V","v":26}])");
  ASSERT_EQ(by_name.size(), 2u);
  EXPECT_EQ(by_name[1].channel.kind, ChannelKind::supply_voltage);
  const auto by_topic = site.measure("zone/4/current", R"([{"n":"urn:dev:mac:0024befffe804ff1","v":0.2}])");
  ASSERT_EQ(by_topic.size(), 1u);
  EXPECT_EQ(by_topic[0].channel, kZone4);
  EXPECT_TRUE(site.measure("gateway", R"([{"n":"humidity","v":30},{"n":"xzone/4/currentx","v":1}])").empty());
  EXPECT_EQ(site.rejected(Reject::not_a_channel), 2u);
  site.expect_laws();
}

TEST(Intake, ABurstIsOrderedByTime) {
  IntakeSite site;
  const auto burst = site.measure(
      "zone/4/current",
      R"([{"bn":"zone/4/current","bu":"A","v":0.25},{"t":-0.02,"v":0.41},{"t":-0.01,"v":0.33}])");
  ASSERT_EQ(burst.size(), 3u);
  EXPECT_EQ(burst[0].value, 0.41);
  EXPECT_EQ(burst[0].time, site.now - Millis{20});
  EXPECT_EQ(burst[1].time, site.now - Millis{10});
  EXPECT_EQ(burst[2].time, site.now);
}

TEST(Intake, UnitsAreConvertedOrRefused) {
  IntakeSite site(
      "[[sensor]]\ntopic = \"a\"\nchannel = \"zone/4/current\"\nunit = \"mA\"\n"
      "[[sensor]]\ntopic = \"b\"\nchannel = \"soil/temperature\"\nunit = \"degF\"\n"
      "[[sensor]]\ntopic = \"c\"\nchannel = \"supply/voltage\"\nunit = \"mV\"\ndecoder = \"json\"\n");
  EXPECT_NEAR(site.send({.topic = "a", .payload = "231"}).at(0).value, 0.231, 1e-12);
  EXPECT_NEAR(site.send({.topic = "b", .payload = "50"}).at(0).value, 10, 1e-9);
  EXPECT_NEAR(site.send({.topic = "c", .payload = R"({"value":26100})"}).at(0).value, 26.1, 1e-9);
  EXPECT_NEAR(site.send({.topic = "c", .payload = R"({"value":26.1,"unit":"V"})"}).at(0).value, 26.1, 1e-9);
  EXPECT_TRUE(site.send({.topic = "c", .payload = R"({"value":26.1,"unit":"A"})"}).empty());
  EXPECT_TRUE(site.send({.topic = "c", .payload = R"({"value":26.1,"unit":"furlong"})"}).empty());
  EXPECT_TRUE(site.measure("zone/4/current", "true").empty());  // a switch word is no amount
  EXPECT_EQ(site.rejected(Reject::wrong_unit), 3u);
  EXPECT_NE(site.intake().recent_rejects().at(1).why.find("allowed are V, mV"), std::string::npos);
  site.expect_laws();
}

TEST(Intake, ImplausibleValuesAreToldApart) {
  IntakeSite site("[[sensor]]\ntopic = \"a\"\nchannel = \"zone/1/current\"\nunit = \"A\"\nmax_value = 5\n");
  EXPECT_TRUE(site.measure("zone/4/current", "231").empty());  // milliamps sent as amps
  ASSERT_EQ(site.intake().implausible_in_last_message().size(), 1u);
  EXPECT_EQ(site.intake().implausible_in_last_message()[0].channel, kZone4);
  EXPECT_EQ(site.intake().implausible_in_last_message()[0].value, 231);
  EXPECT_NE(site.intake().recent_rejects().at(0).why.find("mA?"), std::string::npos);
  EXPECT_EQ(site.measure("zone/4/current", "0.231").size(), 1u);
  EXPECT_TRUE(site.intake().implausible_in_last_message().empty());
  EXPECT_TRUE(site.send({.topic = "a", .payload = "5.1"}).empty());
  EXPECT_EQ(site.send({.topic = "a", .payload = "4.9"}).size(), 1u);
  for (const auto& [channel, payload] : {std::pair{"supply/voltage", "24000"},
                                         {"soil/temperature", "85000"},
                                         {"zone/4/current", "-0.6"},
                                         {"air/temperature", "-61"}})
    EXPECT_TRUE(site.measure(channel, payload).empty()) << channel;
  EXPECT_EQ(site.rejected(Reject::implausible), 6u);
  EXPECT_TRUE(site.measure("zone/4/command", "2").empty());
  EXPECT_EQ(site.rejected(Reject::bad_value), 1u);
  site.expect_laws();
}

TEST(Intake, AConfiguredChannelOverridesNames) {
  IntakeSite site("[[sensor]]\ntopic = \"dev/1\"\nchannel = \"zone/4/current\"\ndecoder = \"senml\"\n");
  const auto readings =
      site.send({.topic = "dev/1", .payload = R"([{"n":"zone/1/current","u":"mA","v":231}])"});
  ASSERT_EQ(readings.size(), 1u);
  EXPECT_EQ(readings[0].channel, kZone4);
  EXPECT_NEAR(readings[0].value, 0.231, 1e-12);
}

TEST(Intake, WhatIsWrongInTheConfigurationIsSaidWithItsPlace) {
  const auto sensor = [](const std::string& rest) {
    return IntakeSite::refusal("[[sensor]]\ntopic = \"a\"\nchannel = \"zone/4/current\"\nunit = \"A\"\n" +
                               rest);
  };
  EXPECT_NE(sensor("decoder = \"jsn\"\n").find("did you mean json?"), std::string::npos);
  EXPECT_NE(sensor("decoder = \"csv_of_nobody\"\n").find("json"), std::string::npos);
  EXPECT_NE(IntakeSite::refusal("[[sensor]]\ntopic = \"a\"\nchannel = \"zone/4/current\"\nunit = \"V\"\n")
                .find("A, mA"),
            std::string::npos);
  EXPECT_NE(IntakeSite::refusal("[decoder.json]\nvaleu = \"/a\"\n").find("did you mean value?"),
            std::string::npos);
  EXPECT_NE(IntakeSite::refusal("[decoder.jason]\nvalue = \"/a\"\n"), "");
  EXPECT_EQ(IntakeSite::refusal("[decoder.json]\nvalue = \"/a\"\n"), "");
}

}  // namespace
}  // namespace coilward
