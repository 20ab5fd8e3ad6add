// Photos and notes in their file: kept whole or not at all, within bounds, whatever the disk does.
#include "daemon/history/notes_store.h"

#include <gtest/gtest.h>

#include <filesystem>

#include "daemon/history/backup.h"
#include "daemon/history/state_directory.h"
#include "daemon/history/state_store.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

FieldNote some_note(const std::string& finding = "f1", const std::string& words = "green splice") {
  FieldNote note;
  note.finding = finding;
  note.place = "A";
  note.place_to = "B";
  note.at = *parse_rfc3339("2026-05-04T12:00:00Z");
  note.by = "Ana";
  note.words = words;
  note.mime = "image/jpeg";
  note.width = 640;
  note.height = 480;
  return note;
}

struct Notes : testing::Test {
  NotesStore open() {
    auto store = NotesStore::open(path);
    EXPECT_TRUE(store) << store.error().what;
    return std::move(*store);
  }
  TemporaryDirectory directory;
  const std::string path = notes_path(directory.path());
};

TEST_F(Notes, AreReadBackWithTheirPictures) {
  std::int64_t id = 0;
  {
    auto store = open();
    id = *store.add(some_note(), "picture");
    ASSERT_TRUE(store.add(some_note("f2"), ""));
  }
  const auto list = read_notes(path, "f1");
  ASSERT_TRUE(list) << list.error().what;
  ASSERT_EQ(list->size(), 1U);
  const FieldNote& note = list->front();
  EXPECT_EQ(note.place + note.place_to + note.by + note.words, "ABAnagreen splice");
  EXPECT_EQ(note.bytes, 7U);
  EXPECT_EQ(*open().picture(id), "picture");
  EXPECT_EQ(open().picture(id + 1).error().cause, Cause::not_found);
  EXPECT_TRUE(read_notes(directory / "none.db", "f1")->empty());
}

TEST_F(Notes, ADeletedOneIsGoneAndItsNumberIsNotGivenAgain) {
  auto store = open();
  const auto id = *store.add(some_note(), "picture");
  EXPECT_EQ(store.remove("f2", id).error().cause, Cause::not_found) << "another finding's";
  EXPECT_TRUE(store.remove("f1", id));
  EXPECT_EQ(store.remove("f1", id).error().cause, Cause::not_found);
  EXPECT_EQ(store.picture(id).error().cause, Cause::not_found);
  EXPECT_EQ(*store.bytes(), 0U);
  EXPECT_GT(*store.add(some_note(), "another"), id);
}

TEST_F(Notes, AreBoundedInSumAndForAFinding) {
  auto store = open();
  const std::string large(8u << 20, 'x');
  std::uint64_t kept = 0;
  for (int i = 0; i < 40; ++i)
    if (const auto added = store.add(some_note("f" + std::to_string(i)), large))
      kept += large.size();
    else
      EXPECT_EQ(added.error().cause, Cause::conflict);
  EXPECT_EQ(kept, kMostNotesBytes);
  EXPECT_EQ(*store.bytes(), kept);
  for (std::size_t i = 0; i < kMostNotesOfFinding; ++i) EXPECT_TRUE(store.add(some_note("many"), ""));
  EXPECT_EQ(store.add(some_note("many"), "").error().cause, Cause::conflict);
}

TEST_F(Notes, ABackupHasThemAndARestoreBringsThemBack) {
  { ASSERT_TRUE(StateStore::open(state_path(directory.path()), "birch")); }
  const auto id = *open().add(some_note(), "picture");
  const std::string copy = directory / "copy";
  const auto report = back_up(directory.path(), copy, *parse_rfc3339("2026-05-04T12:00:00Z"));
  ASSERT_TRUE(report) << report.error().what;
  EXPECT_EQ(report->files.back().name, "notes.db");
  ASSERT_TRUE(open().remove("f1", id));
  const auto restored = restore_backup(copy, directory.path(), *parse_rfc3339("2026-05-05T12:00:00Z"));
  ASSERT_TRUE(restored) << restored.error().what;
  EXPECT_EQ(*open().picture(id), "picture");
}

}  // namespace
}  // namespace coilward
