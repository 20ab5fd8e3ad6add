#include "daemon/intake/topic_filter.h"

#include <gtest/gtest.h>
#include <mosquitto.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <random>

namespace coilward {
namespace {

const nlohmann::json& reference() {
  static const nlohmann::json json = nlohmann::json::parse(
      std::ifstream(COILWARD_SOURCE_DIR "/tests/reference/formats/mqtt5_topic_filters.json"));
  return json;
}

TEST(TopicFilter, MatchesAsTheStandardSays) {
  int cases = 0;
  for (const auto& entry : reference()["match"]) {
    const std::string filter = entry[0], topic = entry[1];
    const bool expected =
        entry[2].is_boolean() ? entry[2].get<bool>() : true;  // the text: a shared subscription
    EXPECT_EQ(topic_matches(without_share(filter), topic), expected) << entry;
    ++cases;
  }
  EXPECT_EQ(cases, 20);
}

TEST(TopicFilter, ValidityAsTheStandardSays) {
  for (const auto& filter : reference()["valid_filters"])
    EXPECT_TRUE(is_topic_filter(filter.get<std::string>())) << filter;
  for (const auto& filter : reference()["invalid_filters"])
    EXPECT_FALSE(is_topic_filter(filter.get<std::string>())) << filter;
  EXPECT_FALSE(is_topic_filter(std::string_view("a\0b", 3)));
  EXPECT_FALSE(is_topic_filter(std::string(65536, 'a')));
  EXPECT_TRUE(is_topic_filter("/"));
}

std::string random_text(std::mt19937& random, const char* const* words, unsigned count) {
  std::string text = words[random() % count];
  for (unsigned more = random() % 4; more > 0; --more) text.append("/").append(words[random() % count]);
  return text;
}

constexpr const char* kTopicWords[] = {"a", "b", "", "$SYS", "ab"};
constexpr const char* kFilterWords[] = {"a", "b", "", "$SYS", "ab", "+", "+", "#"};

TEST(TopicFilter, AgreesWithAnotherImplementationOnRandomPairs) {
  std::mt19937 random(1);
  int matched = 0, compared = 0;
  for (int i = 0; i < 200000; ++i) {
    const std::string filter = random_text(random, kFilterWords, 8),
                      topic = random_text(random, kTopicWords, 5);
    bool expected = false;
    if (!is_topic_filter(filter) || topic.empty()) continue;
    if (mosquitto_topic_matches_sub(filter.c_str(), topic.c_str(), &expected) != MOSQ_ERR_SUCCESS) continue;
    EXPECT_EQ(topic_matches(filter, topic), expected) << filter << " " << topic;
    matched += expected;
    ++compared;
  }
  EXPECT_GT(compared, 50000);
  EXPECT_GT(matched, 5000);
}

// covers and meet against what they mean: looked up topic by topic.
TEST(TopicFilter, CoveringAndMeetingFollowFromMatching) {
  std::mt19937 random(2);
  std::vector<std::string> topics;
  for (const char* a : kTopicWords) {
    topics.emplace_back(a);
    for (const char* b : kTopicWords)
      for (const char* c : kTopicWords) {
        topics.push_back(std::string(a) + "/" + b);
        topics.push_back(std::string(a) + "/" + b + "/" + c);
      }
  }
  int covered = 0, met = 0;
  for (int i = 0; i < 4000; ++i) {
    const std::string wide = random_text(random, kFilterWords, 8),
                      narrow = random_text(random, kFilterWords, 8);
    if (!is_topic_filter(wide) || !is_topic_filter(narrow)) continue;
    const bool covers = filter_covers(wide, narrow), meet = filters_meet(wide, narrow);
    EXPECT_EQ(meet, filters_meet(narrow, wide));
    bool shared = false;
    for (const auto& topic : topics) {
      if (topic.empty()) continue;
      const bool in_wide = topic_matches(wide, topic), in_narrow = topic_matches(narrow, topic);
      EXPECT_TRUE(!covers || in_wide || !in_narrow) << wide << " " << narrow << " " << topic;
      shared = shared || (in_wide && in_narrow);
    }
    EXPECT_TRUE(meet || !shared) << wide << " " << narrow;
    covered += covers;
    met += meet;
  }
  EXPECT_GT(covered, 50);
  EXPECT_GT(met, 100);
  EXPECT_TRUE(filter_covers("a/#", "a"));
  EXPECT_FALSE(filter_covers("a/+", "a/#"));
  EXPECT_TRUE(filters_meet("a/+/c", "a/b/+"));
  EXPECT_FALSE(filters_meet("a/+", "a/b/c"));
  EXPECT_FALSE(filters_meet("#", "$SYS/a"));
}

}  // namespace
}  // namespace coilward
