#include "daemon/cli/command_setup.h"

#include "daemon/login/login_book.h"

namespace coilward {

void add_people_verbs(CLI::App& app, Action& action) {
  auto who = std::make_shared<PersonOptions>();
  CLI::App* verb =
      add_verb(app, action, "person", "who may log in on the page: list, add, remove, or set a password", who,
               person_verb);
  verb->add_option("action", who->action, "what to do")
      ->required()
      ->check(CLI::IsMember({"add", "list", "password", "remove"}));
  verb->add_option("name", who->name, "whom: letters, digits and blanks as they like")->type_name("NAME");
  verb->add_option("--role", who->role,
                   "what a new one may do (technician if left out; at the contractor's server contractor)")
      ->check(CLI::IsMember({"contractor", "technician", "homeowner"}));
  verb->add_option("--organisation", who->organisation,
                   "at the contractor's server: whose sites are seen (the only one, if left out)")
      ->type_name("ORGANISATION");
  verb->add_option("--site", who->only_site, "there: the one site that a homeowner sees")->type_name("SITE");
  verb->add_option("--password-file", who->password_file,
                   "file whose first line is the password; - is standard input")
      ->type_name("FILE");
  add_site_options(verb, who->site);
  verb->footer(
      "Without --password-file it is asked for at the terminal, or read from standard input. A technician "
      "may do "
      "everything on the page, a homeowner reads and acknowledges; the first is a technician. While nobody "
      "has "
      "a password, list tells the code for the set-up on the page. With --config FILE of the contractor's "
      "server "
      "it is done in its database.");

  auto whose = std::make_shared<OrganisationOptions>();
  verb = add_verb(app, action, "organisation",
                  "at the contractor's server: whose sites are whose: list, add, or give a site to one",
                  whose, organisation_verb);
  verb->add_option("action", whose->action, "what to do")
      ->required()
      ->check(CLI::IsMember({"add", "give", "list"}));
  verb->add_option("organisation", whose->id, "which: a-z, 0-9 and '-'")->type_name("ORGANISATION");
  verb->add_option("--name", whose->name, "add: its name for people")->type_name("NAME");
  verb->add_option("--site", whose->only_site, "give: which site")->type_name("SITE");
  verb->add_option("--config", whose->site.config, "configuration of the contractor's server")
      ->type_name("FILE")
      ->required();
  verb->add_flag("--json", whose->site.json, "print JSON");
  verb->footer(
      "People of an organisation see its sites and no others. A new site belongs to the only organisation "
      "there is; "
      "where there are several it is nobody's, and shown to nobody, until it is given to one.");

  auto link = std::make_shared<ShareOptions>();
  link->by = person();
  verb =
      add_verb(app, action, "share", "read-only links to the page that end by themselves", link, share_verb);
  verb->add_option("action", link->action, "what to do")
      ->required()
      ->check(CLI::IsMember({"add", "end", "list"}));
  verb->add_option("what", link->what, "add: whom it is for; end: the id that list shows")->type_name("WHAT");
  verb->add_option("--days", link->days, "add: so long it opens (7 if left out)")
      ->type_name("N")
      ->check(CLI::Range(1, kMostShareDays));
  verb->add_option("--by", link->by, "your name, for the record")->type_name("NAME");
  add_site_options(verb, link->site);
}

}  // namespace coilward
