#include "daemon/web/finding_changes.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/fault_words.h"
#include "daemon/web/html.h"
#include "daemon/web/page_words.h"

namespace coilward {
namespace {

constexpr std::size_t kMostForms = 40;  // on a page; the API has all

std::string zones_words(const std::vector<int>& zones) {
  std::string out;
  for (const int zone : zones) out += (out.empty() ? "" : ", ") + zone_label(zone);
  return out;
}

void add_word(std::string& words, const std::string& more) { words += (words.empty() ? "" : "; ") + more; }

bool same_place(const Finding& a, const Finding& b) {
  if (a.where.empty() || b.where.empty()) return a.where.empty() == b.where.empty();
  return a.where.front().from == b.where.front().from && a.where.front().to == b.where.front().to;
}

std::string form_row(const FindingChange& form, const std::string& what, const Call& call) {
  return fmt::format(
      "<tr><th scope=\"row\">{}</th><td>{}</td><td class=\"n\">{}</td><td class=\"wide\">{}</td></tr>\n",
      short_time_tag(form.at, call.site.now(), call.site.config()), fault_phrase(form.finding.fault),
      in_hundred_text(form.finding.probability), html(what));
}

// With the form that is on its way to the disk, if it is not there yet.
std::vector<FindingChange> forms_of(const Finding& finding, const Call& call) {
  auto kept = call.site.finding_changes(finding.id);
  std::vector<FindingChange> forms = kept ? std::move(*kept) : std::vector<FindingChange>();
  if (forms.empty() || forms.back().at < finding.updated) forms.push_back({finding.updated, finding});
  return forms;
}

}  // namespace

std::string change_words(const Finding& before, const Finding& now) {
  std::string words;
  if (before.fault != now.fault) add_word(words, fmt::format("before that a {}", fault_phrase(before.fault)));
  if (before.zones != now.zones) add_word(words, "zones " + zones_words(now.zones));
  if (before.severity != now.severity) add_word(words, std::string(severity_words(now.severity)));
  if (before.probability != now.probability)
    add_word(words, now.probability > before.probability ? "surer" : "less sure");
  if (!same_place(before, now) && !now.where.empty()) add_word(words, stretch_words(now.where.front()));
  if (before.is_open() && !now.is_open())
    add_word(words, now.close_reason.empty() ? "over" : "over: " + now.close_reason);
  return words;
}

std::string changes_part(const Finding& finding, const Call& call) {
  const auto forms = forms_of(finding, call);
  if (forms.size() < 2) return {};
  std::string rows;
  for (std::size_t i = forms.size(); i-- > 0 && forms.size() - i <= kMostForms;)
    rows += form_row(forms[i], i == 0 ? "found" : change_words(forms[i - 1].finding, forms[i].finding), call);
  return "<section><h2>How it was judged</h2>\n<table><thead><tr><th scope=\"col\">When</th><th "
         "scope=\"col\">As</th><th scope=\"col\" class=\"n\">In 100 sure</th><th scope=\"col\" "
         "class=\"wide\">What changed</th></tr></thead><tbody>\n" +
         rows + "</tbody></table></section>\n";
}

ApiResponse get_finding_changes(const Call& call) {
  const auto finding = call.site.finding(call.args[0]);
  if (!finding) return problem(finding.error());
  const auto kept = call.site.finding_changes(finding->id);
  if (!kept) return problem(kept.error());
  Json list = Json::array();
  for (const FindingChange& form : *kept)
    list.push_back(finding_to_json(form.finding, call.site.config().site.id));
  return json_response({{"finding", finding->id}, {"changes", list}});
}

}  // namespace coilward
