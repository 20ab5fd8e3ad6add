#include <fmt/format.h>

#include "daemon/alerts/audience_words.h"
#include "daemon/alerts/contractor_digest.h"
#include "daemon/alerts/site_time.h"

namespace coilward {
namespace {

// "[Juniper Row 12] Zone 4 ..." without the site.
std::string without_site(const std::string& subject) {
  const auto end = subject.find("] ");
  return subject.starts_with('[') && end != std::string::npos ? subject.substr(end + 2) : subject;
}

std::string sections(const std::vector<Alert>& held, const Listener& listener, const Config& config) {
  std::string text;
  for (const auto& alert : held) text += "\n----\n\n" + spoken(alert, listener, config).text;
  return text;
}

}  // namespace

Spoken spoken_digest(const std::vector<Alert>& held, UtcTime now, const Listener& listener,
                     const Config& config) {
  if (listener.audience == Audience::contractor) return contractor_digest(held, listener, config);
  const Words& words = Words::in(listener.language);
  const std::string table = listener.audience == Audience::homeowner ? "homeowner.digest" : "digest";
  const std::string count = std::to_string(held.size());
  Spoken said;
  said.subject = one_line(words.say(table + (held.size() == 1 ? ".subject_one" : ".subject"),
                                    {{"site", config.site.name},
                                     {"count", count},
                                     {"line", without_site(spoken(held.front(), listener, config).subject)}}),
                          kLongestSubject);
  said.text = words.say(table + ".text", {{"time", site_clock_time(now, config.site.timezone)}}) + "\n" +
              sections(held, listener, config);
  return said;
}

}  // namespace coilward
