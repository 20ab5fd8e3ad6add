// A trouble of the installation, told to whoever looks after it; to a homeowner only that we do not see well,
// and that no valve is at fault.
#include <fmt/format.h>

#include "daemon/alerts/audience_words.h"
#include "daemon/alerts/site_time.h"

namespace coilward {
namespace {

// The catalogue's text of the trouble; what the trouble itself brought where the catalogue has none.
std::string text_of(const AlertTrouble& trouble, const char* which, const Words& words) {
  Words::Texts values;
  for (const auto& [name, value] : trouble.fields) values.emplace(name, one_line(value, 1000));
  const auto key = fmt::format("installation.{}.{}", trouble.key.substr(0, trouble.key.find(' ')), which);
  if (words.has(key)) return filled(words.text(key), values);
  const auto own = values.find(which);
  return own == values.end() ? trouble.key : own->second;
}

std::string began(const AlertTrouble& trouble, const Config& config, const Words& words) {
  return site_date_time(trouble.since, config.site.timezone, words);
}

Spoken to_homeowner(const AlertTrouble& trouble, const Config& config, const Words& words) {
  const char* over = trouble.lasting ? "" : "_over";
  return {
      one_line(words.say(fmt::format("homeowner.installation.subject{}", over), {{"site", config.site.name}}),
               kLongestSubject),
      words.say(fmt::format("homeowner.installation.text{}", over),
                {{"time", began(trouble, config, words)}}) +
          "\n"};
}

std::string subject_line(const AlertTrouble& trouble, const Words& words) {
  const std::string line = text_of(trouble, "line", words);
  if (!trouble.lasting) return words.say("installation.over", {{"line", line}});
  return trouble.still ? words.say("installation.still", {{"line", line}}) : line;
}

}  // namespace

Spoken trouble_words(const Alert& alert, const Listener& listener, const Config& config) {
  const Words& words = Words::in(listener.language);
  const AlertTrouble& trouble = *alert.trouble;
  if (listener.audience == Audience::homeowner) return to_homeowner(trouble, config, words);
  Spoken said{one_line(words.say("installation.subject",
                                 {{"site", config.site.name}, {"line", subject_line(trouble, words)}}),
                       kLongestSubject),
              {}};
  const std::string line = text_of(trouble, "line", words);
  const std::string since = words.say("installation.since", {{"time", began(trouble, config, words)}});
  said.text = fmt::format(
      "{}\n{}\n", trouble.lasting ? line : words.say("installation.over_text", {{"line", line}}), since);
  if (trouble.lasting) said.text += "\n" + text_of(trouble, "text", words) + "\n";
  return said;
}

}  // namespace coilward
