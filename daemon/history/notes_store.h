// Reads and writes notes.db: photos and notes from the field. Large and less precious than state.db, so a
// file of its own: it may fill up or be lost, and nothing that watches the site is touched.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/history/field_note.h"
#include "daemon/history/store_options.h"

namespace coilward {

// Own choice: a year of visits with a handful of pictures each, on a small card.
inline constexpr std::uint64_t kMostNotesBytes = 256u << 20;
inline constexpr std::size_t kMostNotesOfFinding = 40;

// Thread: one at a time; any number of instances on one file. Errors: world unless said.
class NotesStore {
 public:
  // not_found: read_only and there is no file. bad_config: made by a newer program or something else.
  static Result<NotesStore> open(const std::string& path, StoreOptions options = {});
  NotesStore(NotesStore&&) noexcept;
  NotesStore& operator=(NotesStore&&) noexcept;
  ~NotesStore();

  // Keeps both or neither; gives the id. conflict: that would be more than all pictures, or the notes of one
  // finding, may be.
  Result<std::int64_t> add(const FieldNote& note, std::string_view picture);
  // not_found: the finding has no such note. Its bytes are free for others.
  Result<bool> remove(const std::string& finding, std::int64_t id);
  // Oldest first, without pictures.
  Result<std::vector<FieldNote>> notes(const std::string& finding) const;
  // One of them. not_found.
  Result<FieldNote> note(std::int64_t id) const;
  // Its picture's content. not_found: there is none.
  Result<std::string> picture(std::int64_t id) const;
  // Of all pictures.
  Result<std::uint64_t> bytes() const;

  const Repair& repair() const;

 private:
  class Impl;
  explicit NotesStore(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

// A small read beside whoever writes; none where nothing was ever kept.
Result<std::vector<FieldNote>> read_notes(const std::string& path, const std::string& finding);

}  // namespace coilward
