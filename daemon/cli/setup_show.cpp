#include "daemon/cli/command_setup.h"

namespace coilward {
namespace {

struct FindingsAsk {
  SiteOptions site;
  bool all = false;
};

struct FindingAsk {
  SiteOptions site;
  std::string finding;
};

// The forms of a test reading (contract section 9).
void add_test_reading(CLI::App& app, Action& action) {
  auto ask = std::make_shared<TestReadingOptions>();
  ask->by = person();
  CLI::App* verb =
      add_verb(app, action, "test-reading", "enter what a meter showed in the field", ask, test_reading);
  verb->add_option("finding", ask->finding, "id of the finding")->required()->type_name("FINDING");
  verb->add_option("--at", ask->at, "where it was measured: controller or a box")
      ->required()
      ->type_name("PLACE");
  verb->add_option("--volts-on", ask->volts_on, "V between zone wire and common, zone on")->type_name("V");
  verb->add_option("--ohms", ask->ohms, "ohms between zone wire and common, zone off and opened there; or OL")
      ->type_name("R");
  verb->add_option("--toward", ask->toward, "which way the ohms look")
      ->check(CLI::IsMember({"valve", "controller"}));
  verb->add_option("--source-volts", ask->source_volts, "V of a test source at the controller")
      ->type_name("V");
  verb->add_option("--volts-to-earth", ask->volts_to_earth, "V from that wire to an earth stake at PLACE")
      ->type_name("V");
  verb->add_option("--conductor", ask->conductor, "the wire that the source drives")
      ->check(CLI::IsMember({"zone", "common"}));
  verb->add_option("--by", ask->by, "your name, for the record")->type_name("NAME");
  add_site_options(verb, ask->site);
  verb->footer(
      "One of: --volts-on V; --ohms R --toward valve or controller; --source-volts V --volts-to-earth V "
      "--conductor zone or common. It is kept, and `coilward locate` takes it into account. At the "
      "controller "
      "PLACE is \"controller\"; where the configuration names no box for the zone, \"valve\" is the other "
      "end.");
}

}  // namespace

void add_show_verbs(CLI::App& app, Action& action) {
  auto zones = std::make_shared<SiteOptions>();
  add_site_options(
      add_verb(app, action, "zones", "each zone: normal draw, last run, state", zones, show_zones), *zones);

  auto findings = std::make_shared<FindingsAsk>();
  CLI::App* verb = add_verb<FindingsAsk>(app, action, "findings", "open findings", findings,
                                         [](const FindingsAsk& a) { return show_findings(a.site, a.all); });
  add_site_options(verb, findings->site);
  verb->add_flag("--all", findings->all, "closed ones too");

  auto health = std::make_shared<SiteOptions>();
  verb =
      add_verb(app, action, "health", "is every stage sound, and what is wrong if not", health, show_health);
  add_site_options(verb, *health);
  verb->footer("Exit status 1 when a stage is not sound.");

  auto place = std::make_shared<FindingAsk>();
  verb = add_verb<FindingAsk>(app, action, "locate", "where the fault may be, and what to measure next",
                              place, [](const FindingAsk& a) { return locate(a.site, a.finding); });
  verb->add_option("finding", place->finding, "id of the finding")->required()->type_name("FINDING");
  add_site_options(verb, place->site);
  add_test_reading(app, action);

  auto sheet = std::make_shared<FindingAsk>();
  verb = add_verb<FindingAsk>(app, action, "visit",
                              "what to take along: place, readings in order, parts, cautions", sheet,
                              [](const FindingAsk& a) { return show_visit(a.site, a.finding); });
  verb->add_option("finding", sheet->finding, "id of the finding; all open ones when left out")
      ->type_name("FINDING");
  add_site_options(verb, sheet->site);
  verb->footer(
      "As the visit sheet of the page, which prints on A4 and Letter, with drawings and room to write.");
}

}  // namespace coilward
