#include "daemon/delivery/store_outbox.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "daemon/alerts/alert_test_site.h"
#include "daemon/alerts/routes.h"
#include "daemon/delivery/history_batches.h"
#include "daemon/history/history_store.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

struct StoreTest : testing::Test {
  TemporaryDirectory directory;
  HistoryFiles files{directory / "history.db", directory / "state.db"};
  Config config = test_site();
  ChannelNames names{config};
  Result<StateStore> state = StateStore::open(files.state, config.site.id);
};

TEST_F(StoreTest, AnAlertIsQueuedOncePerNotifierThatItReaches) {
  config.notifiers = {{"mail", "email", Severity::watch}, {"phones", "command", Severity::urgent}};
  AlertBook book(config);
  Finding f = test_finding(4);
  f.severity = Severity::soon;
  book.finding(f, test_start());
  const auto alerts = book.advance(at_hours(0.1));
  ASSERT_EQ(alerts.size(), 1u);
  Routes routes(config);
  routes.alert(alerts[0], at_hours(0.1));
  routes.alert(test_alert(config, test_start()), at_hours(0.1));
  const auto messages = routes.advance(at_hours(0.1), [](const std::string&) { return true; });
  ASSERT_EQ(messages.size(), 1u);
  EXPECT_EQ(messages[0].notifier, "mail");
  const std::vector<OutboxRow> rows = {
      {messages[0].alert, messages[0].notifier, messages[0].json, at_hours(0.1)}};

  ASSERT_TRUE(state);
  for (int again = 0; again < 2; ++again) ASSERT_TRUE(state->commit({.now = at_hours(0.1), .outbox = rows}));
  auto table = Outbox::open(files.state);
  ASSERT_TRUE(table);
  StoreOutbox outbox(std::move(*table), files.state, "mail");
  auto waiting = outbox.next(at_hours(1));
  ASSERT_TRUE(waiting && *waiting);
  EXPECT_EQ((*waiting)->alert, alerts[0].id);
  EXPECT_EQ((*waiting)->queued, at_hours(0.1));
  ASSERT_TRUE(outbox.retry((*waiting)->row, at_hours(2), "later"));
  EXPECT_FALSE(outbox.next(at_hours(1))->has_value());
  EXPECT_EQ(*outbox.next_time(), at_hours(2));
  waiting = outbox.next(at_hours(2));
  ASSERT_TRUE(waiting && *waiting);
  EXPECT_EQ((*waiting)->attempts, 1);
  ASSERT_TRUE(outbox.done((*waiting)->row, at_hours(2), "250 ok"));
  EXPECT_EQ(*outbox.next_time(), kNever);
}

// As the keeper does with a damaged one: aside, a new one in its place.
TEST_F(StoreTest, AFileThatWasReplacedIsFollowed) {
  const auto queue = [](Result<StateStore>& store, const char* alert) {
    const std::vector<OutboxRow> rows = {{alert, "mail", "{}", test_start()}};
    return store && store->commit({.now = test_start(), .outbox = rows});
  };
  ASSERT_TRUE(queue(state, "old"));
  auto table = Outbox::open(files.state);
  ASSERT_TRUE(table);
  StoreOutbox outbox(std::move(*table), files.state, "mail");
  const auto before = outbox.next(at_hours(1));
  ASSERT_TRUE(before && *before);
  for (const char* end : {"", "-wal", "-shm"})
    std::filesystem::rename(files.state + end, files.state + ".aside" + end);
  auto fresh = StateStore::open(files.state, config.site.id);
  ASSERT_TRUE(queue(fresh, "new"));
  EXPECT_TRUE(outbox.done((*before)->row, at_hours(1), "250 ok"));
  const auto after = outbox.next(at_hours(1));
  ASSERT_TRUE(after && *after) << "the row of the same number is another alert";
  EXPECT_EQ((*after)->alert, "new");
  ASSERT_TRUE(outbox.done((*after)->row, at_hours(1), "250 ok"));
  EXPECT_FALSE(outbox.next(at_hours(1))->has_value());
  EXPECT_EQ(*outbox.next_time(), kNever);
}

TEST_F(StoreTest, HistoryGoesOutInStretchesWithoutAGap) {
  auto history = HistoryStore::open(files.history, names);
  ASSERT_TRUE(history);
  const UtcTime start = *parse_rfc3339("2026-05-04T06:02:00Z");
  const auto batches = [&] {
    return HistoryBatches(files, config.site.id, names, "csv", std::chrono::minutes{6});
  };
  std::optional<HistoryBatches> source(batches());
  EXPECT_FALSE(source->next(start)->has_value()) << "starts with the present";

  std::vector<Reading> readings;
  for (int s = -600; s < 1200; ++s)
    readings.push_back({{ChannelKind::zone_current, 4}, start + std::chrono::seconds{s}, 0.001 * (s + 1000)});
  std::vector<coilward::Run> ran(1);
  ran[0].zone = 4;
  ran[0].start = start - std::chrono::minutes{30};
  ran[0].end = start + std::chrono::minutes{10};
  ASSERT_TRUE(history->commit({.readings = readings, .runs = ran}));
  const std::vector<Finding> found = {test_finding(4, Fault::open_circuit, start + std::chrono::minutes{3})};
  ASSERT_TRUE(state->commit({.now = start, .findings = found}));

  std::vector<std::string> ids;
  std::size_t got = 0, runs = 0, findings = 0;
  for (UtcTime now = start; now < start + std::chrono::hours{2};) {
    const auto batch = source->next(now);
    ASSERT_TRUE(batch) << batch.error().what;
    if (!*batch) {
      now += std::chrono::minutes{1};
      continue;
    }
    source.emplace(batches());  // killed before it was taken: the same again
    const auto again = source->next(now);
    ASSERT_TRUE(again && *again);
    EXPECT_EQ((*again)->id, (*batch)->id);
    EXPECT_EQ((*again)->json, (*batch)->json);
    const auto json = Json::parse((*batch)->json);
    ids.push_back(json["id"]);
    got += json["readings"].size();
    runs += json["runs"].size();
    findings += json["findings"].size();
    ASSERT_TRUE(source->taken(**again));
  }
  EXPECT_EQ(got, 1320u) << "from 06:00, where the exporter began, to 06:22";
  EXPECT_EQ(runs, 1u);
  EXPECT_EQ(findings, 1u);
  ASSERT_EQ(ids.size(), 5u);
  EXPECT_EQ(ids.front(), "juniper-row-12.20260504-060000.20260504-060500");
}

TEST_F(StoreTest, NoHistoryYetIsSaidAndTriedAgain) {
  HistoryBatches source(files, config.site.id, names, "csv", std::chrono::minutes{6});
  EXPECT_FALSE(source.next(test_start()));
}

}  // namespace
}  // namespace coilward
