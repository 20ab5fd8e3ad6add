// The walk through a new site (commission.h) for somebody who answers on a page: it goes on a thread of its
// own, since it waits for answers and sensors; what it says and asks is handed to the thread that owns the
// page, and so are its looks at the sensors. Nothing is shared: values go both ways through mailboxes.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "daemon/base/mailbox.h"
#include "daemon/commission/commission.h"

namespace coilward {

// What the page shows of it.
struct WalkView {
  int step = 0;                   // grows with every change
  std::vector<std::string> said;  // words, and questions with their answers, in order; the latest kMostSaid
  std::optional<Question> question;  // none: it looks at the sensors, or is over
  bool over = false;
  std::string toml;     // the configuration that came of it
  std::string trouble;  // why none did
};

inline constexpr std::size_t kMostSaid = 200;

struct GuidedLinks {
  std::function<void(std::function<void()>)> post;  // runs it on the owner's thread, later
  std::function<Result<LiveZones>()> live;          // on the owner's thread
  std::function<UtcTime()> now;                     // from any thread
  std::string before;                               // the text of the configuration that it began with
  double wait_s = 60, settle_s = 1.5;               // as CommissionLinks
};

// Thread: its owner's.
class GuidedWalk {
 public:
  GuidedWalk(Config start, GuidedLinks links);
  // Ends it wherever it is.
  ~GuidedWalk();

  const WalkView& view() const;
  // To the question of that step; `then` is called once the walk has gone on, or is ended. conflict: another
  // question is asked by now.
  Result<bool> answer(int step, std::string text, std::function<void()> then);

 private:
  struct Owned;   // by the owner's thread
  struct Shared;  // mailboxes
  class PageDialogue;
  static void walk(const std::stop_token& stop, const std::weak_ptr<Owned>& owned, Shared& shared,
                   Config start, const GuidedLinks& links);

  std::shared_ptr<Owned> owned_;
  std::shared_ptr<Shared> shared_;
  std::jthread thread_;
};

}  // namespace coilward
