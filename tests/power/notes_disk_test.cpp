// A photo goes to a disk that is full, or fails, at any of its operations.
#include <gtest/gtest.h>

#include "daemon/history/notes_store.h"
#include "daemon/history/state_directory.h"
#include "tests/support/power_vfs.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

FieldNote note_of(const std::string& words) {
  FieldNote note;
  note.finding = "f1";
  note.at = *parse_rfc3339("2026-05-04T12:00:00Z");
  note.words = words;
  note.mime = "image/jpeg";
  return note;
}

TEST(NotesDisk, AFullOrFailingDiskKeepsBothOrNeither) {
  for (const DiskFault fault : {DiskFault::full, DiskFault::error})
    for (std::uint64_t nth = 0; nth < 12; ++nth) {
      TemporaryDirectory own;
      PowerVfs disk;
      auto store = NotesStore::open(notes_path(own.path()));
      ASSERT_TRUE(store);
      ASSERT_TRUE(store->add(note_of("first"), "picture"));
      disk.fail(fault, nth);
      const auto added = store->add(note_of("second"), std::string(200'000, 'x'));
      if (!added) {
        EXPECT_EQ(added.error().cause, Cause::world);
        EXPECT_EQ(added.error().what.find("full") != std::string::npos, fault == DiskFault::full)
            << added.error().what;
      }
      disk.fail(DiskFault::none);
      const auto list = store->notes("f1");
      ASSERT_TRUE(list) << list.error().what;
      EXPECT_EQ(list->size(), added ? 2U : 1U);
      for (const FieldNote& note : *list) EXPECT_EQ(store->picture(note.id)->size(), note.bytes);
      EXPECT_TRUE(store->add(note_of("third"), "picture")) << "well again";
    }
}

}  // namespace
}  // namespace coilward
