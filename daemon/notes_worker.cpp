#include "daemon/notes_worker.h"

#include <boost/asio/post.hpp>

#include "daemon/base/log.h"

namespace coilward {
namespace {

// Each may hold a picture: more at once are more than the memory of a small board. Own choice.
constexpr std::size_t kWaitingNotes = 8;

}  // namespace

NotesWorker::NotesWorker(boost::asio::io_context& core, std::string path)
    : core_(core),
      path_(std::move(path)),
      jobs_(kWaitingNotes + 1),
      thread_([this](const std::stop_token& stop) {
        while (auto job = jobs_.take(stop)) (*job)();
        while (auto job = jobs_.try_take()) (*job)();
      }) {}

NotesWorker::~NotesWorker() = default;

template <class T>
void NotesWorker::ask(std::function<Result<T>(NotesStore&)> work, std::function<void(Result<T>)> answer) {
  if (jobs_.size() >= kWaitingNotes)
    return answer(Error{Cause::conflict, "several pictures are being kept already: try again in a moment"});
  jobs_.put([this, work = std::move(work), answer = std::move(answer)] {
    auto opened = store();
    Result<T> result = opened ? work(**opened) : Result<T>(opened.error());
    boost::asio::post(core_, [answer, result = std::move(result)] { answer(result); });
  });
}

Result<NotesStore*> NotesWorker::store() {
  if (!store_) {
    auto opened = NotesStore::open(path_);
    if (!opened) return opened.error();
    store_ = std::move(*opened);
    if (!store_->repair().what.empty()) log::warning("notes: {}", store_->repair().what);
  }
  return &*store_;
}

void NotesWorker::add(FieldNote note, std::string picture, std::function<void(Result<std::int64_t>)> answer) {
  ask<std::int64_t>([note = std::move(note),
                     picture = std::move(picture)](NotesStore& store) { return store.add(note, picture); },
                    std::move(answer));
}

void NotesWorker::remove(std::string finding, std::int64_t id, std::function<void(Result<bool>)> answer) {
  ask<bool>([finding = std::move(finding), id](NotesStore& store) { return store.remove(finding, id); },
            std::move(answer));
}

void NotesWorker::picture(std::int64_t id, std::function<void(Result<PictureAnswer>)> answer) {
  ask<PictureAnswer>(
      [id](NotesStore& store) -> Result<PictureAnswer> {
        auto note = store.note(id);
        if (!note) return note.error();
        auto bytes = store.picture(id);
        if (!bytes) return bytes.error();
        return PictureAnswer{note->mime, std::move(*bytes)};
      },
      std::move(answer));
}

}  // namespace coilward
