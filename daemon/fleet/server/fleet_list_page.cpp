// The list of sites by what needs a visit first.
#include <fmt/format.h>

#include "daemon/fleet/server/fleet_pages.h"
#include "daemon/web/html.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr int kListRefreshSeconds = 60;

constexpr VisitNeed kNeeds[] = {VisitNeed::urgent, VisitNeed::silent, VisitNeed::soon, VisitNeed::watch,
                                VisitNeed::none};

std::string address(const SiteFilter& filter, std::optional<VisitNeed> need, int page) {
  std::string out = "/?";
  if (need) out += fmt::format("show={}&amp;", need_words(*need).key);
  if (!filter.text.empty()) out += "find=" + html(percent_encoded(filter.text)) + "&amp;";
  if (page > 0) out += fmt::format("page={}&amp;", page + 1);
  out.resize(out.size() - (out.size() > 2 ? 5 : 1));
  return out;
}

std::string filters(const SiteList& list, const SiteFilter& filter) {
  std::string out =
      fmt::format("<p class=\"ranges\"><a href=\"{}\"{}>All {}</a>", address(filter, std::nullopt, 0),
                  filter.need ? "" : " aria-current=\"true\"", list.all);
  for (const VisitNeed need : kNeeds)
    out += fmt::format("<a href=\"{}\"{}>{} {}</a>", address(filter, need, 0),
                       filter.need == need ? " aria-current=\"true\"" : "", need_words(need).label,
                       list.by_need[static_cast<int>(need)]);
  return out + "</p>\n";
}

// Below the list: on a phone the list comes first.
std::string find_form(const SiteFilter& filter) {
  return fmt::format(
      "<form method=\"get\" action=\"/\" class=\"row\">{}<label for=\"find\">Find a site by name or "
      "id</label><input id=\"find\" name=\"find\" value=\"{}\" "
      "maxlength=\"60\"><button>Find</button></form>\n",
      filter.need
          ? fmt::format("<input type=\"hidden\" name=\"show\" value=\"{}\">", need_words(*filter.need).key)
          : "",
      html(filter.text));
}

// In figures, and who goes there.
std::string soft_words(const SiteLine& line, UtcTime now) {
  const std::string figures = in_figures(line, now);
  if (line.assigned_to.empty()) return figures;
  return short_text(fmt::format("{}{} goes there", figures.empty() ? "" : figures + ". ", line.assigned_to),
                    120);
}

std::string site_row(const SiteLine& line, UtcTime now) {
  const NeedWords words = need_words(line.need);
  return fmt::format(
      "<tr class=\"{0}\"><th scope=\"row\"><a href=\"/site/{1}\">{2}</a></th><td>{3} {4}<span "
      "class=\"soft\"> "
      "{5}</span></td><td class=\"n wide\">{6}</td></tr>\n",
      words.kind, html(line.site), html(short_text(line.name, 60)), icon(words.kind),
      html(short_text(why_go(line, now), 200)), html(soft_words(line, now)),
      line.heard == kNever ? "never" : age_text(line.heard, now) + " ago");
}

std::string pages(const SiteList& list, const SiteFilter& filter) {
  std::string out = "<p class=\"links\">";
  if (filter.page > 0)
    out += fmt::format("<a href=\"{}\">Earlier</a>", address(filter, filter.need, filter.page - 1));
  if ((filter.page + 1) * std::int64_t{kSitesAPage} < list.matching)
    out +=
        fmt::format("<a href=\"{}\">Next {}</a>", address(filter, filter.need, filter.page + 1), kSitesAPage);
  return out + "</p>\n";
}

Verdict verdict_of_list(const SiteList& list) {
  const auto of = [&](VisitNeed need) { return list.by_need[static_cast<int>(need)]; };
  const std::int64_t urgent = of(VisitNeed::urgent), silent = of(VisitNeed::silent),
                     soon = of(VisitNeed::soon);
  if (list.all == 0)
    return {"learning", "No site has sent anything yet",
            "A site comes in with [fleet] in its configuration."};
  const std::string more = fmt::format("{} silent, {} will fail, of {} in all.", silent, soon, list.all);
  if (urgent > 0)
    return {"urgent", fmt::format("{} {} a visit", urgent, urgent == 1 ? "site needs" : "sites need"), more};
  if (silent > 0)
    return {"blind", fmt::format("{} {} silent", silent, silent == 1 ? "site is" : "sites are"), more};
  if (soon > 0)
    return {"soon", fmt::format("{} will fail, none is failing", counted(soon, "site", "sites")), more};
  return {"fine", "Every site waters as it should", fmt::format("{} in all.", list.all)};
}

}  // namespace

ApiResponse sites_page(const FleetCall& call, const SiteList& list, const SiteFilter& filter,
                       const std::string& organisation) {
  PageParts parts{"Sites by what needs a visit first", {}, kListRefreshSeconds};
  if (!organisation.empty()) parts.main = fmt::format("<p class=\"kicker\">{}</p>\n", html(organisation));
  parts.main += verdict_html(verdict_of_list(list)) + filters(list, filter);
  if (list.lines.empty())
    parts.main += "<p>No site matches.</p>\n";
  else
    parts.main +=
        "<table><thead><tr><th scope=\"col\">Site</th><th scope=\"col\">Why</th><th scope=\"col\" "
        "class=\"n wide\">Last heard</th></tr></thead><tbody>\n";
  for (const SiteLine& line : list.lines) parts.main += site_row(line, call.now);
  if (!list.lines.empty()) parts.main += "</tbody></table>\n";
  parts.main += pages(list, filter) + find_form(filter);
  return fleet_document(call, std::move(parts));
}

}  // namespace coilward
