// The walk answered from a page: its thread and its owner's, questions one by one, and the end wherever it is
// asked for.
#include "daemon/commission/guided_walk.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/poll.h"

namespace coilward {
namespace {

using testing::HasSubstr;

constexpr std::string_view kTwoZones = R"([site]
id = "birch"
[mqtt]
url = "mqtt://127.0.0.1"
[[zone]]
number = 1
[[zone]]
number = 2
)";

// The owner's thread is the test's: what is posted is run when it says so.
class Guided : public testing::Test {
 protected:
  void begin() {
    GuidedLinks links;
    links.post = [this](std::function<void()> action) { posted.put(std::move(action)); };
    links.live = [this]() -> Result<LiveZones> {
      ++looks;
      LiveZones zones;
      for (const int number : {1, 2})
        zones.push_back({number, number == on ? 0.23 : 0.0005, from_ms(1'000'000 + looks)});
      return zones;
    };
    links.now = [] { return from_ms(1'777'000'000'000); };
    links.before = kTwoZones;
    links.wait_s = 1;
    links.settle_s = 0;
    walk = std::make_unique<GuidedWalk>(*parse_config(std::string(kTwoZones), "site.toml"), std::move(links));
  }
  template <class Condition>
  bool goes_on_until(Condition condition) {
    return becomes_true([&] {
      while (auto action = posted.try_take()) (*action)();
      return condition();
    });
  }
  bool asks(const std::string& words) {
    return goes_on_until([&] {
      const auto& q = walk->view().question;
      return q && q->text.find(words) != std::string::npos;
    });
  }
  void answer(const std::string& text) {
    const auto taken = walk->answer(walk->view().step, text, [this] { ++told; });
    ASSERT_TRUE(taken) << taken.error().what;
  }

  Mailbox<std::function<void()>> posted{1000};
  int on = 0, looks = 0, told = 0;
  std::unique_ptr<GuidedWalk> walk;
};

TEST_F(Guided, GoesFromTheBoxesToTheConfiguration) {
  begin();
  ASSERT_TRUE(asks("Next box"));
  answer("A controller 18");
  ASSERT_TRUE(asks("Next box"));
  answer("");
  for (const char* gauge : {"common main", "zone wires"}) {
    ASSERT_TRUE(asks(gauge));
    answer("");
  }
  for (const int zone : {1, 2}) {
    for (const auto& [asked, answered] :
         {std::pair<std::string, std::string>{"its name", zone == 1 ? "Front lawn" : "Roses"},
          {"Its box", "A"},
          {"Valves", ""},
          {"printed", "0.23"}}) {
      ASSERT_TRUE(asks(asked));
      answer(answered);
    }
    ASSERT_TRUE(asks("Switch zone " + std::to_string(zone) + " on"));
    EXPECT_EQ(walk->view().question->kind, Question::Kind::done);
    on = zone;
    answer("done");
    ASSERT_TRUE(asks("Switch zone " + std::to_string(zone) + " off"))
        << testing::PrintToString(walk->view().said);
    on = 0;
    answer("done");
  }
  ASSERT_TRUE(goes_on_until([&] { return walk->view().over; }));
  EXPECT_EQ(walk->view().trouble, "");
  EXPECT_THAT(walk->view().toml, HasSubstr("Front lawn"));
  EXPECT_THAT(walk->view().toml, HasSubstr("0.230 A at commissioning"));
  EXPECT_TRUE(parse_config(walk->view().toml, "site.toml"));
  EXPECT_EQ(told, 16) << "whoever answered was told each time that it went on";
}

TEST_F(Guided, ASecondPressOfAButtonIsNoSecondAnswer) {
  begin();
  ASSERT_TRUE(asks("Next box"));
  const int step = walk->view().step;
  answer("A controller 18");
  EXPECT_EQ(walk->answer(step, "B A 31", [] {}).error().cause, Cause::conflict);
  ASSERT_TRUE(asks("Next box"));
  EXPECT_EQ(walk->answer(step, "B A 31", [] {}).error().cause, Cause::conflict);
}

TEST_F(Guided, EndsAtOnceWhileItAsksAndWhileItLooks) {
  begin();
  ASSERT_TRUE(asks("Next box"));
  walk.reset();
  begin();
  ASSERT_TRUE(asks("Next box"));
  answer("");
  walk.reset();
  EXPECT_EQ(told, 1) << "whoever waits is not left waiting";
  while (auto action = posted.try_take()) (*action)();  // what was on its way finds nobody
}

}  // namespace
}  // namespace coilward
