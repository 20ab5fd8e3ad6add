#include "daemon/intake/channel_rules.h"

#include "daemon/intake/intake_fixture.h"

namespace coilward {
namespace {

TEST(ChannelRules, ANameEndsInAChannel) {
  const Config config = parse_config(kIntakeSite, "site.toml").value();
  const auto channel = [&](std::string_view name) { return channel_at_end(name, config); };
  const Channel zone4{ChannelKind::zone_current, 4};
  for (const char* name : {"zone/4/current", "urn:dev:ow:1:zone/4/current", "a/b/zone/4/current",
                           "x-zone/4/current", "x_zone/4/current", "x.zone/4/current", "/zone/4/current"})
    EXPECT_EQ(channel(name), zone4) << name;
  for (const char* name :
       {"", "/", "//", "zone/4", "zone/4/current/", "zone/4/currents", "1zone/4/current", "zone/0/current",
        "zone/256/current", "zone/4x/current", "zone//current", "common/other/current", "/voltage"})
    EXPECT_FALSE(channel(name)) << name;
  EXPECT_EQ(channel("urn:dev:mac:1_supply/voltage")->kind, ChannelKind::supply_voltage);
  EXPECT_EQ(channel("x/common/main/current")->kind, ChannelKind::common_current);
  EXPECT_EQ(channel("dev:master/command")->kind, ChannelKind::master_command);
}

TEST(ChannelRules, UnitsConvertAsTheyShould) {
  const auto convert = [](std::string_view unit, double value) {
    const UnitRule* rule = find_unit(unit);
    return rule ? value * rule->factor + rule->offset : kNotMeasured;
  };
  EXPECT_DOUBLE_EQ(convert("mA", 231), 0.231);
  EXPECT_DOUBLE_EQ(convert("mV", 26100), 26.1);
  EXPECT_NEAR(convert("degF", 212), 100, 1e-12);
  EXPECT_NEAR(convert("degF", -40), -40, 1e-12);
  EXPECT_NEAR(convert("K", 273.15), 0, 1e-12);
  EXPECT_EQ(find_unit("ma"), nullptr);
  EXPECT_EQ(find_unit(""), nullptr);
}

}  // namespace
}  // namespace coilward
