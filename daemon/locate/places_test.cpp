#include "daemon/locate/places.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

Config chain() {
  Config config;
  config.commons.push_back({"main", {2.08, 14, false}});
  config.boxes.push_back({"A", "controller", 20, -1});
  config.boxes.push_back({"B", "A", 60, 0});
  for (int box : {0, 1, -1}) {
    ZoneConfig zone;
    zone.number = static_cast<int>(config.zones.size()) + 1;
    zone.box = box;
    config.zones.push_back(zone);
  }
  return config;
}

double sum(const std::vector<Stretch>& places) {
  double total = 0;
  for (const auto& place : places) total += place.probability;
  return total;
}

TEST(Places, LongerStretchIsLikelier) {
  const auto places = places_on_zone_wire(chain(), 2, false);
  ASSERT_EQ(places.size(), 2U);
  EXPECT_EQ(places[0].from, "A");
  EXPECT_EQ(places[0].to, "B");
  // 60 m and a splice against 20 m and a splice, a splice being worth 10 m.
  EXPECT_NEAR(places[0].probability / places[1].probability, 70.0 / 30.0, 1e-9);
}

TEST(Places, LeavesRoomForCoilAndController) {
  const auto with = places_on_zone_wire(chain(), 2, true), without = places_on_zone_wire(chain(), 2, false);
  EXPECT_LT(sum(with), sum(without));
  EXPECT_LT(sum(without), 1);
  EXPECT_GT(sum(with), 0.5);
}

TEST(Places, ZoneWithoutABoxHasNone) {
  EXPECT_TRUE(places_on_zone_wire(chain(), 3, true).empty());
  EXPECT_TRUE(places_on_zone_wire(chain(), 9, true).empty());
}

TEST(Places, StretchIsNamedByItsEnds) {
  EXPECT_EQ(stretch_to(chain(), 0, 0.5).from, "controller");
  EXPECT_EQ(stretch_to(chain(), 1, 0.5).from, "A");
}

}  // namespace
}  // namespace coilward
