// The page of one zone to hold in the hand at its valve: what it draws now, as large as a phone can show it,
// and what its words do not say by the tone of page/hand.js.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/alerts/fault_words.h"
#include "daemon/web/assets.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_parts.h"
#include "daemon/web/query.h"
#include "daemon/web/zone_now_view.h"

namespace coilward {
namespace {

constexpr int kLiveRefreshSeconds = 3;  // where there is no script

std::string normal_words(const NormalDraw& normal) {
  return measured(normal.hold_amps)
             ? fmt::format("of {} ({})", amps_text(normal.hold_amps), band_text(normal))
             : "normal is not learned yet";
}

std::string strip_svg(const StripView& strip) {
  return fmt::format(
      "<figure class=\"strip\"><div class=\"upright\" aria-hidden=\"true\"><span data-now=\"top\">{:.2f} "
      "A</span><span>0</span></div><svg class=\"plot\" viewBox=\"0 0 {:.0f} {:.0f}\" "
      "preserveAspectRatio=\"none\" role=\"img\" aria-label=\"What it drew in the last minute.\">"
      "<rect class=\"band\" x=\"0\" y=\"{:.1f}\" width=\"{:.0f}\" height=\"{:.1f}\"/>"
      "<path class=\"mean\" d=\"{}\"/></svg><div class=\"level\" aria-hidden=\"true\"><span>a minute "
      "ago</span><span>now</span></div></figure>\n",
      strip.top, kStripWide, kStripHigh, strip.band_y, kStripWide, strip.band_high, strip.line);
}

std::string figure_part(const ZoneNow& now, const StripView& strip) {
  const std::string kind(now.stale ? "stale" : level_name(now.level));
  return fmt::format(
      "<div id=\"now\" class=\"hand {}\" data-now=\"{}\">\n<p class=\"big\" data-now=\"figure\">{}</p>\n"
      "<p class=\"says\">{} <span data-now=\"state\">{}</span></p>\n"
      "<p><strong data-now=\"amps\">{}</strong> {}</p>\n"
      "<p><span data-now=\"on\">{}</span>, <span data-now=\"age\">{}</span>.</p>\n{}</div>\n",
      kind, html(zone_now_to_json(now, strip).dump()), figure_text(now),
      icon(now.stale ? "silent" : level_icon(now.level)), state_words(now), amps_text(now.amps),
      normal_words(now.normal), on_words(now), age_words(now), strip_svg(strip));
}

// Without a script there is nothing to press: it has its place from the start, so that nothing moves, and the
// script brings it to life.
constexpr const char* kToneButton =
    "<div class=\"scripted\"><p><button type=\"button\" class=\"wide-button\" id=\"tone\" "
    "aria-pressed=\"false\" disabled>Start the tone</button></p>\n<p class=\"soft\">It rises as the draw "
    "comes "
    "near normal, and turns into quick beeps of two notes when it is there. Silent: nothing fresh is "
    "heard.</p></div>\n"
    "<noscript><p class=\"soft\">The page is loaded again every few seconds.</p></noscript>\n";

std::string findings_here(const Call& call, const ZoneState& zone) {
  std::string out;
  for (const std::string& id : zone.findings)
    if (const auto finding = call.site.finding(id))
      out += fmt::format("<a href=\"{}\">Finding: {}</a> ", finding_path(*finding),
                         fault_phrase(finding->fault));
  return out;
}

std::string live_part(const Call& call, const ZoneState& zone) {
  ZoneWatch watch(call.site, zone.number);
  const ZoneNow now = watch.look();
  return fmt::format(
      "<h1 class=\"kicker\">{}, now</h1>\n{}<p class=\"care\"><strong>Take care.</strong> {}</p>\n{}{}<p "
      "class=\"links\"><a href=\"{}\">What it drew before</a> {}</p>\n",
      html(zone_heading(zone.number, zone.name)),
      figure_part(now, strip_view(now, watch.strip(), call.site.now())),
      "Switch the zone off before you reach into a wet box or open a splice. Water runs while it is on. The "
      "mains side of the transformer is for a licensed electrician.",
      kToneButton, test_run_part(call, zone.number), zone_path(zone.number), findings_here(call, zone));
}

Result<ZoneState> zone_of(const Call& call) {
  const auto number = parse_number(call.args[0], 0, kMaxZone, "zone");
  if (!number) return number.error();
  for (ZoneState& zone : call.site.zones())
    if (zone.number == *number) return std::move(zone);
  return Error{Cause::not_found, fmt::format("the site has no zone {}", *number)};
}

}  // namespace

ApiResponse get_zone_live_page(const Call& call) {
  const auto zone = zone_of(call);
  if (!zone) return problem(zone.error());
  PageParts parts{zone->name + ", now", live_part(call, *zone)};
  parts.refresh_s = kLiveRefreshSeconds;
  parts.live = false;
  parts.head = fmt::format("<script defer src=\"{}\"></script>", asset_path("hand.js"));
  return page_response(call, parts);
}

ApiResponse get_zone_now(const Call& call) {
  const auto zone = zone_of(call);
  if (!zone) return problem(zone.error());
  ZoneWatch watch(call.site, zone->number);
  const ZoneNow now = watch.look();
  return json_response(zone_now_to_json(now, strip_view(now, watch.strip(), call.site.now())));
}

}  // namespace coilward
