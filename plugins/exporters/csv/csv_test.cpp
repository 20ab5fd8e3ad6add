#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "plugins/common/plugin_under_test.h"
#include "plugins/common/script_server.h"
#include "plugins/exporters/csv/csv_rows.h"
#include "plugins/exporters/csv/csv_store.h"

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;
namespace fs = std::filesystem;

const std::string kCase = COILWARD_SOURCE_DIR "/plugins/exporters/csv/cases/two_days/";

std::map<std::string, std::string> csv_files(const std::string& directory) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::directory_iterator(directory))
    if (entry.path().extension() == ".csv") files[entry.path().filename()] = file_text(entry.path());
  return files;
}

std::string batch(int number, const std::string& time = "2026-05-04T06:00:00.000Z") {
  return Json{
      {"version", 1},
      {"id", "b" + std::to_string(number)},
      {"readings", {{{"time", time}, {"channel", "zone/4/current"}, {"value", number}, {"unit", "A"}}}}}
      .dump();
}

TEST(Csv, ABatchBecomesTheExpectedFiles) {
  const TemporaryDirectory directory;
  PluginUnderTest plugin("csv.so", {{"directory", directory.path()}});
  ASSERT_EQ(plugin.store(file_text(kCase + "batch.json")).outcome, COILWARD_DONE);
  EXPECT_EQ(csv_files(directory.path()), csv_files(kCase + "expected"));
}

TEST(Csv, TheSameBatchTwiceIsWrittenOnceAlsoAfterARestart) {
  const TemporaryDirectory directory;
  for (int i = 0; i < 3; ++i) {
    PluginUnderTest plugin("csv.so", {{"directory", directory.path()}});
    EXPECT_EQ(plugin.store(batch(1)).outcome, COILWARD_DONE);
    EXPECT_EQ(plugin.store(batch(1)).words, "already written");
  }
  EXPECT_EQ(csv_files(directory.path())["readings-2026-05-04.csv"],
            "time,channel,value,unit\r\n2026-05-04T06:00:00.000Z,zone/4/current,1,A\r\n");
}

// As a kill leaves it at every moment: the journal says that a batch is being written, and any part of it is
// there.
TEST(Csv, AHalfWrittenBatchIsUndoneAndWrittenAnew) {
  TemporaryDirectory directory;
  const std::string file = directory / "readings-2026-05-04.csv";
  PluginUnderTest("csv.so", {{"directory", directory.path()}}).store(batch(1));
  const std::string before = file_text(file);
  const std::string journal = directory / ".coilward-csv.json";
  Json half = Json::parse(file_text(journal));
  half["writing"] = {{"id", "b2"}, {"sizes", {{"readings-2026-05-04.csv", before.size()}}}};
  const std::string row = "2026-05-04T06:00:00.000Z,zone/4/current,2,A\r\n";
  for (std::size_t part = 0; part <= row.size(); ++part) {
    directory.write("readings-2026-05-04.csv", before + row.substr(0, part));
    directory.write(".coilward-csv.json", half.dump());
    PluginUnderTest plugin("csv.so", {{"directory", directory.path()}});
    ASSERT_EQ(plugin.store(batch(2)).outcome, COILWARD_DONE);
    ASSERT_EQ(file_text(file), before + row) << part;
  }
}

TEST(Csv, AFileThatCannotBeWrittenIsLaterAndLeavesNoHalf) {
  const TemporaryDirectory directory;
  CsvStore store(Json{{"directory", directory.path()}});
  ASSERT_EQ(store.store(batch(1)).outcome, COILWARD_DONE);
  fs::create_directory(directory / "runs-2026-05-04.csv");  // in the way of the second file
  Json two = Json::parse(batch(2));
  two["runs"] = {{{"start", "2026-05-04T06:00:00.000Z"}, {"zone", 4}}};
  const std::string before = file_text(directory / "readings-2026-05-04.csv");
  const Reply reply = store.store(two.dump());
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, testing::HasSubstr("runs-2026-05-04.csv"));
  fs::remove(directory / "runs-2026-05-04.csv");
  EXPECT_EQ(store.store(two.dump()).outcome, COILWARD_DONE);
  EXPECT_EQ(file_text(directory / "readings-2026-05-04.csv"),
            before + "2026-05-04T06:00:00.000Z,zone/4/current,2,A\r\n");
}

TEST(Csv, ADirectoryThatIsNotThereIsLaterInItsOwnWords) {
  PluginUnderTest plugin("csv.so", {{"directory", "/no/such/place"}});
  const Reply reply = plugin.store(batch(1));
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, testing::HasSubstr("/no/such/place"));
}

TEST(Csv, ADamagedJournalIsNotGuessedAt) {
  const TemporaryDirectory directory;
  directory.write(".coilward-csv.json", "{\"vers");
  const Reply reply = PluginUnderTest("csv.so", {{"directory", directory.path()}}).store(batch(1));
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, testing::HasSubstr("damaged"));
  EXPECT_TRUE(csv_files(directory.path()).empty());
}

TEST(Csv, TheJournalStaysSmall) {
  const TemporaryDirectory directory;
  CsvStore store(Json{{"directory", directory.path()}, {"sync", false}});
  for (int i = 0; i < 200; ++i) ASSERT_EQ(store.store(batch(i)).outcome, COILWARD_DONE);
  EXPECT_EQ(Json::parse(file_text(directory / ".coilward-csv.json"))["done"].size(), kBatchesRemembered);
}

TEST(Csv, WhatIsNoBatchIsRefused) {
  const TemporaryDirectory directory;
  PluginUnderTest plugin("csv.so", {{"directory", directory.path()}});
  for (const char* text : {"", "[]", "{\"version\":2,\"id\":\"a\"}", "{\"version\":1}"})
    EXPECT_EQ(plugin.store(text).outcome, COILWARD_REFUSED) << text;
}

TEST(Csv, ATimeThatIsNoneNamesNoFile) {
  const TemporaryDirectory directory;
  CsvStore store(Json{{"directory", directory.path()}});
  EXPECT_EQ(store.store(batch(1, "../../../../etc/passwd-xx")).outcome, COILWARD_DONE);
  EXPECT_TRUE(csv_files(directory.path()).empty());
}

TEST(Csv, CellsAreSafeForSpreadsheets) {
  EXPECT_EQ(csv_text("plain"), "plain");
  EXPECT_EQ(csv_text("a,\"b\"\n"), "\"a,\"\"b\"\"\n\"");
  for (const char* formula : {"=1+1", "+1", "-1", "@x"}) EXPECT_EQ(csv_text(formula)[0], '\'') << formula;
}

TEST(Csv, ADirectoryMustBeAbsolute) {
  EXPECT_THROW(PluginUnderTest("csv.so", {{"directory", "here"}}), std::runtime_error);
}

}  // namespace
}  // namespace coilward_plugins
