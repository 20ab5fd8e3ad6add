#include "daemon/cli/command_setup.h"

namespace coilward {
namespace {

struct TextAsk {
  SiteOptions site;
  std::string what, by = person();
};

void add_alert_verbs(CLI::App& app, Action& action) {
  auto known = std::make_shared<AcknowledgeOptions>();
  known->by = person();
  CLI::App* verb =
      add_verb(app, action, "acknowledge", "stop a finding's alert from repeating", known, acknowledge);
  verb->add_option("finding", known->finding, "id of the finding")->required()->type_name("FINDING");
  auto* snooze = verb->add_option_group("how long", "left out: until it is over")->require_option(0, 1);
  snooze->add_option("--for", known->length, "this long: 1h, 8h")->type_name("LENGTH");
  snooze->add_option("--until", known->until, "until morning, or this instant")->type_name("TIME");
  verb->add_option("--by", known->by, "your name, for the record")->type_name("NAME");
  add_site_options(verb, known->site);

  auto pause = std::make_shared<PauseOptions>();
  pause->by = person();
  verb =
      add_verb(app, action, "pause", "hold alerts for a time (work on site); runs meanwhile are not judged",
               pause, pause_alerts);
  auto* how = verb->add_option_group("how long")->require_option(1);
  how->add_option("--for", pause->length, "this long: 2h, 30m, 1d")->type_name("LENGTH");
  how->add_option("--until", pause->until, "until this instant: 2026-05-04T18:00:00-06:00")
      ->type_name("TIME");
  how->add_flag("--end", pause->end, "end the pause now");
  verb->add_option("--zone", pause->zone, "only alerts of this zone")
      ->type_name("N")
      ->check(CLI::Range(0, kMaxZone));
  verb->add_option("--reason", pause->reason, "why, for the record")->type_name("TEXT");
  verb->add_option("--by", pause->by, "your name, for the record")->type_name("NAME");
  add_site_options(verb, pause->site);

  auto test = std::make_shared<TextAsk>();
  verb =
      add_verb<TextAsk>(app, action, "test-alert", "try one notifier now and show what the other side said",
                        test, [](const TextAsk& a) { return test_alert_verb(a.site, a.what); });
  verb->add_option("notifier", test->what, "its name in the configuration")->required()->type_name("NAME");
  add_site_options(verb, test->site);
}

}  // namespace

void add_act_verbs(CLI::App& app, Action& action) {
  add_alert_verbs(app, action);

  auto repair = std::make_shared<RepairOptions>();
  repair->by = person();
  CLI::App* verb = add_verb(app, action, "repaired", "mark a zone or a common repaired", repair, repaired);
  auto* which = verb->add_option_group("what")->require_option(1);
  which->add_option("target", repair->target, "zone number or id of a common")
      ->type_name("WHAT")
      ->expected(1, 2);
  which->add_option("--zone", repair->zone, "zone number")->type_name("N")->check(CLI::Range(0, kMaxZone));
  which->add_option("--common", repair->common, "id of a common")->type_name("ID");
  verb->add_flag("--new-coil", repair->new_coil,
                 "another coil was put in: judged by its rating and the wire, and learned anew");
  verb->add_option("--by", repair->by, "your name, for the record")->type_name("NAME");
  add_site_options(verb, repair->site);

  auto site = std::make_shared<CommissionOptions>();
  verb = add_verb(app, action, "commission",
                  "walk through a new site, zone by zone, and write its configuration", site, commission);
  verb->add_option("--config", site->site.config, "what it begins with: broker, site and the zones' numbers")
      ->required()
      ->type_name("FILE");
  verb->add_option("--socket", site->site.socket, "socket of the daemon that runs on it")->type_name("PATH");
  verb->add_option("--out", site->out,
                   "where to write; without it the same file. Nothing is replaced unasked")
      ->type_name("FILE");
  verb->add_option("--wait", site->wait_s, "seconds to wait for a sensor to move")
      ->check(CLI::Range(0.2, 3600.0));
  verb->add_option("--settle", site->settle_s, "seconds from its first rise to the level that is judged")
      ->check(CLI::Range(0.0, 60.0));
  verb->footer("Answers are read line by line from standard input, so that a script can give them.");

  auto backup = std::make_shared<TextAsk>();
  verb = add_verb<TextAsk>(app, action, "backup", "a checked copy of everything while running", backup,
                           [](const TextAsk& a) { return backup_site(a.site, a.what); });
  verb->add_option("directory", backup->what, "new directory for the copy; the daemon writes it")
      ->required()
      ->type_name("DIR");
  add_site_options(verb, backup->site);

  auto restore = std::make_shared<RestoreOptions>();
  verb =
      add_verb(app, action, "restore", "put a backup in place, while no daemon runs", restore, restore_site);
  verb->add_option("backup", restore->backup, "directory that backup made")->required()->type_name("DIR");
  verb->add_option("--state", restore->site.state, "directory to restore to")->type_name("DIR");
  verb->add_option("--config", restore->site.config, "configuration that names it as paths.state")
      ->type_name("FILE");
  verb->add_flag("--json", restore->site.json, "data as JSON");
}

}  // namespace coilward
