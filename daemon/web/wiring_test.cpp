// The drawing: that the tree comes out whole and without crossings, and that a fault is marked where it is.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>
#include <regex>

#include "daemon/web/page_check.h"
#include "daemon/web/web_test_site.h"
#include "daemon/web/wiring_layout.h"
#include "daemon/web/wiring_svg.h"

namespace coilward {
namespace {

using testing::HasSubstr;

Config tree(const std::vector<int>& parents) {
  Config config;
  config.commons.push_back({"main", {2.08, 14, false}});
  for (std::size_t i = 0; i < parents.size(); ++i)
    config.boxes.push_back({fmt::format("B{}", i),
                            parents[i] < 0 ? "controller" : fmt::format("B{}", parents[i]),
                            10.0 + static_cast<double>(i), parents[i]});
  return config;
}

const PlacedBox& placed(const WiringLayout& layout, int box) {
  return *std::find_if(layout.boxes.begin(), layout.boxes.end(),
                       [&](const PlacedBox& p) { return p.box == box; });
}

void expect_whole(const Config& config, const WiringLayout& layout) {
  ASSERT_EQ(layout.boxes.size(), config.boxes.size() + 1);
  ASSERT_EQ(layout.stretches.size(), config.boxes.size());
  double bottom = 0;
  for (const PlacedBox& box : layout.boxes) {  // one below the other
    EXPECT_GE(box.y, bottom);
    bottom = box.y + box.height;
  }
  EXPECT_LE(bottom, layout.height);
  for (const PlacedStretch& s : layout.stretches) {  // from box to box
    const PlacedBox& to = placed(layout, s.box);
    const PlacedBox& from = placed(layout, config.boxes[static_cast<std::size_t>(s.box)].parent);
    EXPECT_EQ(s.y, to.y);
    EXPECT_EQ(s.x, lane_x(to.lane));
    EXPECT_EQ(s.from_y, from.y + from.height);
    EXPECT_LT(std::abs(s.from_x - lane_x(from.lane)), kBoxWidth / 2);
  }
}

// A box that stands in the way of a wire of its own lane.
void expect_free_ways(const WiringLayout& layout) {
  for (const PlacedStretch& s : layout.stretches)
    for (const PlacedBox& box : layout.boxes) {
      const bool in_column = std::abs(lane_x(box.lane) - s.from_x) < kBoxWidth / 2 && s.from_x != s.x;
      if (!in_column) continue;
      EXPECT_FALSE(box.y > s.from_y && box.y < s.turn_y) << s.box << " runs through " << box.box;
    }
}

TEST(WiringLayout, any_tree_comes_out_whole) {
  std::mt19937 random(7);
  for (int round = 0; round < 200; ++round) {
    std::vector<int> parents;
    for (int i = 0; i < 1 + round % 20; ++i)
      parents.push_back(static_cast<int>(random() % static_cast<unsigned>(i + 1)) - 1);
    const Config config = tree(parents);
    std::vector<WiringItem> items;
    for (int i = 0; i < 8; ++i) items.push_back({static_cast<int>(random() % (parents.size() + 1)) - 1, 50});
    const WiringLayout layout = lay_out_wiring(config, items);
    expect_whole(config, layout);
    expect_free_ways(layout);
    std::size_t rows = 0;
    for (const PlacedBox& box : layout.boxes) rows += box.rows.size();
    EXPECT_EQ(rows, items.size());
  }
}

TEST(WiringLayout, a_chain_stays_in_its_lane_and_a_branch_has_another) {
  const WiringLayout chain = lay_out_wiring(tree({-1, 0, 1}), {});
  EXPECT_EQ(chain.lanes, 1);
  const WiringLayout branched = lay_out_wiring(tree({-1, 0, 0, 2}), {});
  EXPECT_EQ(branched.lanes, 2);
  EXPECT_EQ(placed(branched, 1).lane, 1);
  EXPECT_EQ(placed(branched, 3).lane, 0);
}

Finding fault_at(const std::string& from, const std::string& to, double probability = 0.6) {
  Finding finding = web_test_finding();
  finding.where = {{from, to, probability}};
  return finding;
}

std::vector<bool> marked(const std::vector<Finding>& open, const Config& config) {
  std::vector<bool> out;
  for (const StretchMark& mark : stretch_marks(open, config)) out.push_back(mark.finding != nullptr);
  return out;
}

// controller - B0 - B1 - B3, and B2 on a branch of B0.
TEST(StretchMarks, are_on_the_wire_between_the_two_places) {
  const Config config = tree({-1, 0, 0, 1});
  EXPECT_EQ(marked({fault_at("B0", "B1")}, config), (std::vector<bool>{false, true, false, false}));
  EXPECT_EQ(marked({fault_at("B1", "B0")}, config), (std::vector<bool>{false, true, false, false}));
  EXPECT_EQ(marked({fault_at("controller", "B3")}, config), (std::vector<bool>{true, true, false, true}));
  EXPECT_EQ(marked({fault_at("B2", "B1")}, config), (std::vector<bool>{false, true, true, false}));
  EXPECT_EQ(marked({fault_at("nowhere", "B0")}, config), (std::vector<bool>{true, false, false, false}));
  EXPECT_EQ(marked({}, config), (std::vector<bool>{false, false, false, false}));
}

TEST(StretchMarks, the_likeliest_place_is_the_one_and_unlikely_ones_are_left_out) {
  const Config config = tree({-1, 0, 1});
  Finding finding = fault_at("B0", "B1", 0.6);
  finding.where.push_back({"B1", "B2", 0.3});
  finding.where.push_back({"controller", "B0", 0.04});
  const auto marks = stretch_marks({finding}, config);
  EXPECT_FALSE(marks[0].finding);
  EXPECT_TRUE(marks[1].best);
  EXPECT_FALSE(marks[2].best);
  EXPECT_EQ(marks[2].probability, 0.3);
}

ZoneState zone_at(int number, const std::string& state = "normal") {
  ZoneState zone;
  zone.number = number;
  zone.name = fmt::format("Zone {}", number);
  zone.state = state;
  zone.normal = {number, 0.23, 0.22, 0.24, 0.4, 0.37, 0.43, 30, false};
  return zone;
}

// What stands between this stretch's mark and the end of its group.
std::string group_of(const std::string& svg, const std::string& box) {
  const std::regex group("<g class=\"stretch([^\"]*)\" data-stretch=\"" + box + "\">([^\n]*)");
  std::smatch found;
  return std::regex_search(svg, found, group) ? found.str() : "no such stretch";
}

TEST(WiringSvg, a_broken_common_is_marked_with_word_and_shape_and_its_zones_are_dead) {
  Config config = tree({-1, 0, 1});
  SiteView view;
  for (int zone = 1; zone <= 3; ++zone) {
    config.zones.push_back({zone, fmt::format("Zone {}", zone), zone - 1});
    view.zones.push_back(zone_at(zone));
  }
  Finding finding = fault_at("B0", "B1", 0.87);
  finding.fault = Fault::failed_common;
  finding.common = "main";
  finding.zones = {2, 3};
  view.open = {finding};
  const std::string svg = wiring_svg(view, config);
  EXPECT_EQ(PageCheck(svg).fault(), "");
  EXPECT_THAT(group_of(svg, "B1"), HasSubstr("class=\"stretch broken\""));
  EXPECT_THAT(group_of(svg, "B1"), HasSubstr("#i-cut"));
  EXPECT_THAT(group_of(svg, "B1"), HasSubstr("Fault here? 87 %"));
  EXPECT_THAT(group_of(svg, "B1"), HasSubstr("the common main"));
  for (const char* whole : {"B0", "B2"}) EXPECT_THAT(group_of(svg, whole), HasSubstr("class=\"stretch\""));
  EXPECT_THAT(svg, HasSubstr("<a class=\"zone fine\" href=\"/zone/1\""));
  for (const char* dead : {"<a class=\"zone urgent\" href=\"/zone/2\"",
                           "<a class=\"zone urgent\" href=\"/zone/3\"", ">broken common wire</tspan>"})
    EXPECT_THAT(svg, HasSubstr(dead));
}

TEST(WiringSvg, the_scale_has_the_normal_band_in_its_middle_third) {
  const NormalDraw normal = zone_at(1).normal;
  EXPECT_NEAR(scale_place(0.22, normal), 1.0 / 3, 1e-9);
  EXPECT_NEAR(scale_place(0.24, normal), 2.0 / 3, 1e-9);
  EXPECT_EQ(scale_place(0, normal), 0);
  EXPECT_EQ(scale_place(9, normal), 1);
  EXPECT_FALSE(measured(scale_place(kNotMeasured, normal)));
  EXPECT_FALSE(measured(scale_place(0.2, NormalDraw())));
}

}  // namespace
}  // namespace coilward
