#include "daemon/cli/command_line.h"

#include "daemon/cli/command_setup.h"
#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"

namespace coilward {

void add_site_options(CLI::App* verb, SiteOptions& options) {
  verb->add_option("--socket", options.socket, "the running daemon's socket")->type_name("PATH");
  verb->add_option("--config", options.config,
                   "the site's configuration: finds the socket; needed with --state")
      ->type_name("FILE");
  verb->add_option("--state", options.state, "work on the files in this directory alone, without a daemon")
      ->type_name("DIR");
  verb->add_flag("--json", options.json, "data as JSON: one object, or one a line");
}

void add_everything(CLI::App& app, Action& action) {
  app.name("coilward");
  app.description(
      "Watches the wiring of an irrigation site: asks and tells the daemon coilwardd, or works on its "
      "files.");
  app.set_version_flag("--version", std::string("coilward ") + COILWARD_VERSION);
  app.require_subcommand(1);
  app.footer("Exit status: 0 done, 1 failed, 2 wrong usage, 78 wrong configuration.");
  add_show_verbs(app, action);
  add_history_verbs(app, action);
  add_act_verbs(app, action);
  add_people_verbs(app, action);
  add_bench_verbs(app, action);
}

int run_command_line(int argc, char** argv) {
  CLI::App app;
  Action action;
  add_everything(app, action);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? finish(kExitDone)
                                : kExitUsage;  // help and version are "errors" of status 0
  }
  return finish(action());
}

}  // namespace coilward
