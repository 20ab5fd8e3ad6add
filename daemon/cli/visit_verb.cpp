// The visit sheet as text: for a terminal, and for paper by way of lp(1).
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/cli/asking.h"
#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"
#include "daemon/cli/table.h"
#include "daemon/cli/verbs.h"
#include "daemon/cli/words.h"

namespace coilward {
namespace {

constexpr std::size_t kSheetWide = 78;  // columns, as a terminal and a printer have at least

std::string str(const Json& json) { return json.get<std::string>(); }

// Broken at blanks; every line after the first begins below the first one's words.
std::string wrapped(const std::string& first, const std::string& text) {
  const std::string indent(width_of(first), ' ');
  std::string out, line = first;
  std::size_t begin = 0;
  while (begin < text.size()) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    const std::string word = text.substr(begin, end - begin);
    const bool fresh = line == first || line == indent;
    if (!fresh && width_of(line) + 1 + width_of(word) > kSheetWide) {
      out += line + "\n";
      line = indent + word;
    } else {
      line += (fresh ? "" : " ") + word;
    }
    begin = end + 1;
  }
  return out + line + "\n";
}

std::string titled(const std::string& title) {
  return "\n" + title + "\n" + std::string(width_of(title), '-') + "\n";
}

// A length is not broken between its number and its unit.
std::string held_together(std::string text) {
  for (std::size_t at; (at = text.find(' ')) != std::string::npos;) text.replace(at, 1, "\u00a0");
  return text;
}

std::string where_lines(const Json& sheet) {
  std::string way, out = titled("Where");
  for (const Json& stop : sheet["path"])
    way += way.empty() ? str(stop["at"])
                       : fmt::format(" --{}-- {}", held_together(str(stop["length"])), str(stop["at"]));
  if (sheet["path"].size() > 1) out += wrapped("Wire: ", way);
  for (const Json& place : sheet["places"])
    if (place["probability"].get<double>() >= 0.005)
      out += wrapped(fmt::format("{:>5}  ", percent(place["probability"])), str(place["text"]));
  if (sheet["places"].empty()) out += "Nothing can be said yet of a place along the wire.\n";
  return out;
}

std::string evidence_lines(const Json& sheet, const std::string& timezone) {
  std::string out = titled("Evidence");
  for (const Json& e : sheet["evidence"]) {
    const std::string unit = str(e["unit"]);
    out += fmt::format("{}: {}, normal {} to {}\n", str(e["channel"]), quantity(e["observed"], unit),
                       quantity(e["low"], unit), quantity(e["high"], unit));
  }
  Table runs({{"Run"}, {"Drew", true}});
  for (const Json& run : sheet["runs"])
    runs.add({local_seconds(run["start"], timezone), quantity(run["hold_amps"])});
  return runs.empty() ? out : out + "\n" + runs.text();
}

std::string measured_lines(const Json& sheet, const std::string& timezone) {
  std::string out;
  for (const Json& r : sheet["measured"])
    out += fmt::format("{}  at {}: {}{}\n", local_seconds(r["taken"], timezone), str(r["at"]),
                       test_reading_words(r), r["counts"].get<bool>() ? "" : " (before the repair)");
  return out.empty() ? out : titled("Measured so far") + out;
}

std::string list_lines(const std::string& title, const Json& list) {
  std::string out;
  for (const Json& item : list)
    out += item.is_string() ? wrapped("  - ", str(item))
                            : wrapped("[ ] ", fmt::format("{} ({})", str(item["what"]), str(item["for"])));
  return out.empty() ? out : titled(title) + out;
}

std::string goes_on(const Json& outcome) {
  if (!outcome["next_step"].is_null())
    return fmt::format("Go on with reading {}.", outcome["next_step"].get<int>());
  std::string places;
  for (const Json& place : outcome["places"])
    places += fmt::format("{}{} ({})", places.empty() ? "" : "; ", str(place["text"]),
                          percent(place["probability"]));
  if (outcome["solved"].get<bool>()) return "Found: " + str(outcome["places"][0]["text"]) + ".";
  return (outcome["ask_again"].get<bool>() ? "Enter the readings and ask again. Likely then: "
                                           : "Look after these in turn: ") +
         places + ".";
}

std::string step_lines(const Json& step) {
  std::string out = "\n" + wrapped(fmt::format("{}. ", step["step"].get<int>()),
                                   fmt::format("{} About {} minutes with the way.", str(step["task"]),
                                               step["minutes"].get<int>()));
  out += wrapped("   Mind: ", str(step["caution"]));
  for (const Json& o : step["outcomes"])
    out += wrapped(fmt::format("   [ ] {}: ", str(o["shows"])),
                   fmt::format("{}. {}", str(o["means"]), goes_on(o)));
  return out + "   It showed: ____________  at: ____________\n";
}

std::string steps_lines(const Json& sheet) {
  if (!sheet["closed"].is_null()) return {};
  std::string out = titled("Readings to take, in this order");
  for (const Json& step : sheet["steps"]) out += step_lines(step);
  if (const std::string usual = str(sheet["usual"]); !usual.empty()) out += wrapped("", usual);
  if (sheet["solved"].get<bool>()) out += wrapped("Found: ", str(sheet["places"][0]["text"]) + ".");
  return out;
}

std::string proof_lines(const Json& proof) {
  Table table(
      {{"Zone", true}, {"Before", true}, {"With the fault", true}, {"After", true}, {"Should be", true}});
  for (const Json& z : proof["zones"])
    table.add({z["zone"].dump(), quantity(z["before_amps"]), quantity(z["fault_amps"]),
               quantity(z["after_amps"]), quantity(z["low_amps"]) + " to " + quantity(z["high_amps"])});
  const std::string words = str(proof["words"]);
  return table.text() + (words.empty() ? "" : wrapped("", words));
}

std::string repair_lines(const Json& sheet, const std::string& timezone) {
  const Json& record = sheet["repair_record"];
  std::string out = titled("Repair");
  if (!record["marked"].is_null())
    out += fmt::format("Said to be repaired at {} by {}.\n", local_seconds(record["marked"], timezone),
                       text_or_dash(record["by"]));
  if (!record["proof"].is_null()) out += proof_lines(record["proof"]);
  if (!sheet["closed"].is_null())
    return out + wrapped(fmt::format("Over since {}: ", local_seconds(sheet["closed"], timezone)),
                         sheet.value("close_reason", std::string("closed")));
  const std::string target = str(record["target"]), should = str(record["should_draw"]);
  if (!should.empty()) out += "It should draw " + should + " afterwards.\n";
  if (!target.empty()) out += "When it is mended: coilward repaired " + target + "\n";
  return out;
}

std::string sheet_text(const Json& sheet, const std::string& timezone) {
  std::string out = wrapped("", str(sheet["title"])) + wrapped("", str(sheet["summary"]));
  out +=
      fmt::format("{}, since {}, {} sure. Finding {}.\n", str(sheet["site_name"]),
                  local_seconds(sheet["opened"], timezone), percent(sheet["probability"]), str(sheet["id"]));
  return out + where_lines(sheet) + evidence_lines(sheet, timezone) + measured_lines(sheet, timezone) +
         list_lines("Take care", sheet["cautions"]) + list_lines("Bring along", sheet["bring"]) +
         steps_lines(sheet) + repair_lines(sheet, timezone);
}

void print_visit(const Json& visit, const std::string& timezone) {
  if (visit["sheets"].empty()) return say("no finding is open: nothing is to be repaired");
  print(fmt::format("Visit to {}: {} finding{}\n", str(visit["site_name"]), visit["sheets"].size(),
                    visit["sheets"].size() == 1 ? "" : "s"));
  for (const Json& sheet : visit["sheets"])
    print("\n" + std::string(kSheetWide, '=') + "\n\n" + sheet_text(sheet, timezone));
  if (const int more = visit["left_out"].get<int>(); more > 0)
    say(fmt::format("{} more findings are open: coilward findings", more));
}

}  // namespace

int show_visit(const SiteOptions& options, const std::string& finding) {
  const auto shown =
      ask(options, finding.empty() ? "/api/v1/visit" : "/api/v1/findings/" + finding + "/sheet");
  if (!shown) return fail(shown.error());
  if (options.json)
    print_json(shown->answer);
  else if (finding.empty())
    print_visit(shown->answer, shown->timezone);
  else
    print(sheet_text(shown->answer, shown->timezone));
  return kExitDone;
}

}  // namespace coilward
