#include "daemon/base/side_thread.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <future>
#include <vector>

namespace coilward {
namespace {

TEST(SideThread, DoesEverythingInOrderAndEnds) {
  std::vector<int> done;
  {
    SideThread side;
    for (int i = 0; i < 100; ++i) side.give([&done, i] { done.push_back(i); });
  }
  ASSERT_EQ(done.size(), 100u);
  EXPECT_TRUE(std::is_sorted(done.begin(), done.end()));
}

TEST(SideThread, WhatIsDroppedIsNotDone) {
  std::promise<void> begun, go_on;
  std::vector<int> done;
  {
    SideThread side;
    side.give([&] {
      begun.set_value();
      go_on.get_future().wait();
      done.push_back(1);
    });
    side.give([&] { done.push_back(2); });
    begun.get_future().wait();
    side.drop();
    side.give([&] { done.push_back(3); });
    go_on.set_value();
  }
  EXPECT_EQ(done, (std::vector<int>{1, 3}));
}

}  // namespace
}  // namespace coilward
