#include "daemon/intake/topic_filter.h"

#include <optional>

namespace coilward {
namespace {

// The levels of a topic or filter, one after the other; nullopt at the end. "a/" has two, the second empty.
class Levels {
 public:
  explicit Levels(std::string_view text) : rest_(text) {}
  std::optional<std::string_view> next() {
    if (ended_) return std::nullopt;
    const auto slash = rest_.find('/');
    const std::string_view level = rest_.substr(0, slash);
    ended_ = slash == std::string_view::npos;
    if (!ended_) rest_.remove_prefix(slash + 1);
    return level;
  }

 private:
  std::string_view rest_;
  bool ended_ = false;
};

bool is_wild(std::string_view level) { return level == "+" || level == "#"; }

// Section 4.7.2: a wildcard at the beginning never stands for "$SYS" and the like.
bool dollar_kept_apart(std::string_view filter, std::string_view other) {
  const bool wild = filter.starts_with('+') || filter.starts_with('#');
  return wild && other.starts_with('$');
}

}  // namespace

bool is_topic_filter(std::string_view filter) {
  if (filter.empty() || filter.size() > 65535 || filter.find('\0') != std::string_view::npos) return false;
  Levels levels(filter);
  for (auto level = levels.next(); level;) {
    const auto following = levels.next();
    if (!is_wild(*level) && level->find_first_of("+#") != std::string_view::npos) return false;
    if (*level == "#" && following) return false;
    level = following;
  }
  return true;
}

std::string_view without_share(std::string_view filter) {
  constexpr std::string_view kShare = "$share/";
  if (!filter.starts_with(kShare)) return filter;
  const auto slash = filter.find('/', kShare.size());
  return slash == std::string_view::npos ? filter : filter.substr(slash + 1);
}

bool topic_matches(std::string_view filter, std::string_view topic) {
  if (dollar_kept_apart(filter, topic)) return false;
  Levels wanted(filter), found(topic);
  for (;;) {
    const auto level = wanted.next();
    if (level && *level == "#") return true;  // also when the topic has ended: "sport/#" matches "sport"
    const auto here = found.next();
    if (!level || !here) return !level && !here;
    if (*level != "+" && *level != *here) return false;
  }
}

bool filter_covers(std::string_view wide, std::string_view narrow) {
  if (dollar_kept_apart(wide, narrow)) return false;
  Levels w(wide), n(narrow);
  for (;;) {
    const auto outer = w.next();
    if (outer && *outer == "#") return true;
    const auto inner = n.next();
    if (!outer || !inner) return !outer && !inner;
    if (*inner == "#" || (*outer != "+" && *outer != *inner)) return false;
  }
}

bool filters_meet(std::string_view a, std::string_view b) {
  if (dollar_kept_apart(a, b) || dollar_kept_apart(b, a)) return false;
  Levels left(a), right(b);
  for (;;) {
    const auto l = left.next(), r = right.next();
    if ((l && *l == "#") || (r && *r == "#")) return true;
    if (!l || !r) return !l && !r;
    if (*l != "+" && *r != "+" && *l != *r) return false;
  }
}

}  // namespace coilward
