// Photos and notes of findings, as pages and API ask for them. Implemented by the daemon on a thread of its
// own, since a picture takes a card longer than the core may wait. Thread: that of the SiteAccess; answers
// come on it, exactly once, within the call or later.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/history/field_note.h"

namespace coilward {

struct PictureAnswer {
  std::string mime;
  std::string bytes;
};

class NotesDesk {
 public:
  virtual ~NotesDesk() = default;
  // Errors of all: as NotesStore (daemon/history/notes_store.h).
  virtual void add(FieldNote note, std::string picture, std::function<void(Result<std::int64_t>)> answer) = 0;
  virtual void remove(std::string finding, std::int64_t id, std::function<void(Result<bool>)> answer) = 0;
  virtual void picture(std::int64_t id, std::function<void(Result<PictureAnswer>)> answer) = 0;
};

}  // namespace coilward
