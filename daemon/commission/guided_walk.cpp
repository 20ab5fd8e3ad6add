#include "daemon/commission/guided_walk.h"

#include <condition_variable>
#include <mutex>

#include "daemon/commission/first_config.h"

namespace coilward {

struct GuidedWalk::Owned {
  ~Owned() {
    if (then) then();  // whoever waits is not left waiting
  }
  WalkView view;
  std::function<void()> then;  // of the latest answer

  void changed() {
    ++view.step;
    if (auto tell = std::exchange(then, nullptr)) tell();
  }
  void say(std::string text) {
    view.said.push_back(std::move(text));
    if (view.said.size() > kMostSaid) view.said.erase(view.said.begin());
  }
};

struct GuidedWalk::Shared {
  Mailbox<std::string> answers{1};
  Mailbox<Result<LiveZones>> looks{1};
};

namespace {

Error ended_early() { return {Cause::world, "it was ended before its end"}; }

// For so long, unless it is to stop.
void wait_for(Millis time, const std::stop_token& stop) {
  std::mutex mutex;
  std::condition_variable_any never;
  std::unique_lock lock(mutex);
  never.wait_for(lock, stop, time, [] { return false; });
}

}  // namespace

// On the walk's thread; what it tells is told on the owner's.
class GuidedWalk::PageDialogue final : public Dialogue {
 public:
  PageDialogue(std::weak_ptr<Owned> owned, Shared& shared, const GuidedLinks& links, std::stop_token stop)
      : owned_(std::move(owned)), shared_(shared), links_(links), stop_(std::move(stop)) {}

  void say(std::string_view text) override {
    tell([text = std::string(text)](Owned& owned) {
      if (!text.empty()) owned.say(text);
    });
  }

  // Between two looks at the sensors. The first since a question is worth telling: nothing is asked just now.
  void pause(Millis time) {
    if (!std::exchange(looking_, true)) tell([](Owned& owned) { owned.changed(); });
    wait_for(time, stop_);
  }

  Result<LiveZones> live() {
    const auto done = [this](const Result<LiveZones>& zones) { shared_.looks.put(zones); };
    links_.post([owned = owned_, live = links_.live, done] {
      if (owned.lock()) done(live());
    });
    auto zones = shared_.looks.take(stop_);
    return zones ? std::move(*zones) : Result<LiveZones>(ended_early());
  }

  void over(const Result<std::string>& toml) {
    tell([toml](Owned& owned) {
      owned.view.over = true;
      (toml ? owned.view.toml : owned.view.trouble) = toml ? *toml : toml.error().what;
      owned.changed();
    });
  }

 private:
  Result<std::string> answer_to(const Question& question) override {
    looking_ = false;
    tell([question](Owned& owned) {
      owned.view.question = question;
      owned.changed();
    });
    auto answer = shared_.answers.take(stop_);
    if (!answer) return ended_early();
    return without_blanks_around(*answer);
  }

  void tell(std::function<void(Owned&)> what) const {
    links_.post([owned = owned_, what = std::move(what)] {
      if (const auto still = owned.lock()) what(*still);
    });
  }

  const std::weak_ptr<Owned> owned_;
  Shared& shared_;
  const GuidedLinks& links_;
  const std::stop_token stop_;
  bool looking_ = false;
};

GuidedWalk::GuidedWalk(Config start, GuidedLinks links)
    : owned_(std::make_shared<Owned>()),
      shared_(std::make_shared<Shared>()),
      thread_([owned = std::weak_ptr(owned_), shared = shared_, start = std::move(start),
               links = std::move(links)](const std::stop_token& stop) {
        walk(stop, owned, *shared, start, links);
      }) {}

// A look that was asked for and not taken yet finds nobody any more.
GuidedWalk::~GuidedWalk() {
  owned_.reset();
  thread_.request_stop();
  thread_.join();
}

void GuidedWalk::walk(const std::stop_token& stop, const std::weak_ptr<Owned>& owned, Shared& shared,
                      Config start, const GuidedLinks& links) {
  PageDialogue dialogue(owned, shared, links, stop);
  CommissionLinks walk;
  walk.live = [&] { return dialogue.live(); };
  walk.pause = [&](Millis time) { dialogue.pause(time); };
  walk.wait_s = links.wait_s;
  walk.settle_s = links.settle_s;
  const auto site = commission_site(dialogue, walk, std::move(start));
  if (stop.stop_requested()) return;
  dialogue.over(site ? commissioned_text(*site, links.before, links.now())
                     : Result<std::string>(site.error()));
}

const WalkView& GuidedWalk::view() const { return owned_->view; }

Result<bool> GuidedWalk::answer(int step, std::string text, std::function<void()> then) {
  WalkView& view = owned_->view;
  if (!view.question || step != view.step)
    return Error{Cause::conflict, "that question was answered already"};
  owned_->say(view.question->text + (text.empty() ? " " + view.question->otherwise : " " + text));
  view.question.reset();
  owned_->then = std::move(then);
  shared_->answers.put(std::move(text));
  return true;
}

}  // namespace coilward
