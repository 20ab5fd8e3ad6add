// Two contractors on one server: larch with two sites, rowan with one; each site has an open finding and a
// zone that is down. For the tests of who sees what.
#pragma once

#include "daemon/fleet/server/fleet_people.h"
#include "daemon/fleet/server/migrations.h"
#include "tests/fleet/fleet_stage.h"

namespace coilward {

inline constexpr const char* kTheirPassword = "four blue watering cans";

// One server for all tests of a suite; its content is made anew for each.
class TwoOrganisations : public ::testing::Test {
 protected:
  static void TearDownTestSuite() {
    owner.reset();
    stage.reset();
  }
  void SetUp() override {
    COILWARD_NEEDS_POSTGRESQL();
    if (!stage) stage.emplace(2);
    ASSERT_TRUE(stage->sound(0) && stage->sound(1)) << stage->log(0) << stage->log(1);
    stage->cookie.clear();
    owner.emplace(std::move(*Postgres::connect(stage->database.url(), "")));
    ASSERT_TRUE(
        owner->script("truncate site, zone, finding, person, login_session; delete from organisation where "
                      "organisation <> 'main'"));
    FleetPeople people(*owner);
    ASSERT_TRUE(people.add_organisation("larch", "Larch Irrigation"));
    ASSERT_TRUE(people.add_organisation("rowan", "Rowan Watering"));
    for (const char* site : {"larch-1", "larch-2", "rowan-1"}) add_site(site);
    for (const FleetPerson& person : {FleetPerson{"Ana", FleetRole::contractor, "larch"},
                                      FleetPerson{"Ben", FleetRole::technician, "larch"},
                                      FleetPerson{"Hanna", FleetRole::homeowner, "larch", "larch-1"},
                                      FleetPerson{"Rita", FleetRole::contractor, "rowan"}}) {
      const auto added = people.add(person, kTheirPassword);
      ASSERT_TRUE(added) << added.error().what;
    }
  }

  void add_site(const std::string& site) {
    const std::string at = "2026-05-04T06:12:09Z", organisation = site.substr(0, 5);
    stage->database.run(
        "insert into site (site, name, last_heard, organisation) values ('" + site + "', 'Gate of " + site +
        "', now(), '" + organisation + "'); insert into zone (site, zone, name) values ('" + site +
        "', 4, 'Hedge of " + site +
        "'); insert into finding (site, id, fault, severity, zones, probability, opened, " +
        "updated, summary, body) values ('" + site + "', 'f-" + site + "', 'open_circuit', 2, '{4}', 0.9, '" +
        at + "', '" + at + "', 'Dry at " + site + ".', '{\"id\":\"f-" + site + "\",\"site\":\"" + site +
        R"(","fault":"open_circuit","zones":[4],"severity":"urgent","probability":0.9,"alternatives":[],"where":[],)"
        R"("opened":")" +
        at + R"(","updated":")" + at + R"(","closed":null,"evidence":[],"summary":"Dry at )" + site +
        ".\"}')");
  }
  // Of the page's own kind, without a worker.
  Postgres page_connection(const std::string& organisation, const std::string& site = {}) {
    Postgres made =
        std::move(*Postgres::connect(stage->database.url(), "", site.empty() ? kPageRole : kHomeownerRole));
    EXPECT_TRUE(
        made.run("select set_config('coilward.organisation', $1, false), set_config('coilward.site', "
                 "$2, false)",
                 {organisation, site}));
    return made;
  }
  bool log_in(const std::string& name) {
    return stage->log_in(name, kTheirPassword).starts_with("HTTP/1.1 303");
  }

  static inline std::optional<FleetStage> stage;
  static inline std::optional<Postgres> owner;  // whom no policy holds
};

}  // namespace coilward
