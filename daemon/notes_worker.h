// The notes of findings: a thread that owns notes.db, for a daemon that must not wait for it.
#pragma once

#include <boost/asio/io_context.hpp>
#include <functional>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "daemon/base/mailbox.h"
#include "daemon/history/notes_store.h"
#include "daemon/web/notes_access.h"

namespace coilward {

// Thread: the core's; `core` outlives it.
class NotesWorker final : public NotesDesk {
 public:
  // path: of notes.db, which is made with the first note.
  NotesWorker(boost::asio::io_context& core, std::string path);
  // What was asked for is done first.
  ~NotesWorker() override;

  void add(FieldNote note, std::string picture, std::function<void(Result<std::int64_t>)> answer) override;
  void remove(std::string finding, std::int64_t id, std::function<void(Result<bool>)> answer) override;
  void picture(std::int64_t id, std::function<void(Result<PictureAnswer>)> answer) override;

 private:
  using Job = std::function<void()>;
  // Does `work` with the store on the thread, and hands what it gives to `answer` on the core.
  template <class T>
  void ask(std::function<Result<T>(NotesStore&)> work, std::function<void(Result<T>)> answer);
  Result<NotesStore*> store();

  boost::asio::io_context& core_;
  const std::string path_;
  std::optional<NotesStore> store_;  // of the thread
  Mailbox<Job> jobs_;
  std::jthread thread_;
};

}  // namespace coilward
