// The two locks before another organisation's rows, each with the other one open.
#include <gmock/gmock.h>

#include "daemon/base/clock.h"
#include "daemon/fleet/server/fleet_store.h"
#include "tests/fleet/two_organisations.h"

namespace coilward {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

class FleetLocks : public TwoOrganisations {
 protected:
  static std::int64_t number(Postgres& database, const std::string& sql) {
    const auto rows = database.run(sql);
    EXPECT_TRUE(rows) << sql << ": " << rows.error().what;
    return rows ? rows->integer(0, 0) : -1;
  }
  static std::string refusal(Postgres& database, const std::string& sql) {
    const auto rows = database.run(sql);
    return rows ? "it was done" : rows.error().what;
  }
};

// The questions themselves, on a connection that no policy holds.
TEST_F(FleetLocks, TheFirstHoldsWithoutTheSecond) {
  FleetViews views(std::move(*owner), 26);
  const FleetScope larch{"larch"}, hanna{"larch", "larch-1"};
  ASSERT_EQ(views.sites(larch, {})->all, 2);
  EXPECT_EQ(views.sites(hanna, {})->all, 1);
  EXPECT_EQ(views.sites({"nobody"}, {})->all, 0);
  EXPECT_EQ(views.site(larch, "larch-1")->open.size(), 1u);
  EXPECT_EQ(views.site(larch, "rowan-1").error().cause, Cause::not_found);
  EXPECT_EQ(views.site(hanna, "larch-2").error().cause, Cause::not_found);
  EXPECT_EQ(views.acknowledge(larch, "rowan-1", "f-rowan-1", "Ana").error().cause, Cause::not_found);
  EXPECT_EQ(views.assign(larch, "rowan-1", "Ben", "Ana").error().cause, Cause::not_found);
  EXPECT_EQ(views.assign(larch, "larch-1", "Rita", "Ana").error().cause, Cause::not_found);
  EXPECT_EQ(views.assign(larch, "larch-1", "Hanna", "Ana").error().cause, Cause::not_found);
  EXPECT_THAT(*views.colleagues(larch), ElementsAre("Ana", "Ben"));
  EXPECT_TRUE(views.acknowledge(larch, "larch-1", "f-larch-1", "Ana"));
  EXPECT_TRUE(views.assign(larch, "larch-1", "Ben", "Ana"));
  EXPECT_EQ(views.site(larch, "larch-1")->line.assigned_to, "Ben");
}

// Questions that forget whose rows they want, on a connection like the page's.
TEST_F(FleetLocks, TheSecondHoldsWithoutTheFirst) {
  Postgres larch = page_connection("larch");
  EXPECT_EQ(number(larch, "select count(*) from site"), 2);
  EXPECT_EQ(number(larch, "select count(*) from organisation"), 1);
  EXPECT_EQ(number(larch, "select count(*) from person"), 3);
  for (const char* table : {"zone", "finding"}) {
    EXPECT_EQ(number(larch, std::string("select count(*) from ") + table), 2) << table;
    EXPECT_EQ(number(larch, std::string("select count(*) from ") + table + " where site = 'rowan-1'"), 0)
        << table;
  }
  for (const char* table : {"run_summary", "history"})
    EXPECT_EQ(number(larch, std::string("select count(*) from ") + table), 0) << table;
  EXPECT_EQ(number(larch,
                   "with u as (update finding set acknowledged_by = 'x' where site = 'rowan-1' returning 1) "
                   "select count(*) from u"),
            0);
  EXPECT_EQ(
      number(larch, "with u as (update site set assigned_to = 'x' returning site) select count(*) from u"),
      2);
  EXPECT_EQ(
      stage->database.number("select count(*) from site where assigned_to = 'x' and organisation = 'rowan'"),
      0);
  Postgres nobody = page_connection("");
  for (const char* table : {"site", "zone", "finding", "person", "organisation"})
    EXPECT_EQ(number(nobody, std::string("select count(*) from ") + table), 0) << table;
}

TEST_F(FleetLocks, AHomeownersSettingShowsOneSiteAndChangesNothing) {
  Postgres hanna = page_connection("larch", "larch-1");
  for (const char* table : {"site", "zone", "finding"})
    EXPECT_EQ(number(hanna, std::string("select count(*) from ") + table), 1) << table;
  for (const char* sql : {"update finding set acknowledged_by = 'x'", "update site set assigned_to = 'x'",
                          "select name from person"})
    EXPECT_THAT(refusal(hanna, sql), HasSubstr("permission denied")) << sql;
  Postgres elsewhere = page_connection("rowan", "larch-1");
  EXPECT_EQ(number(elsewhere, "select count(*) from site"), 0)
      << "a site that was given to another contractor";
}

TEST_F(FleetLocks, EachPartTouchesOnlyWhatItNeeds) {
  Postgres page = page_connection("larch");
  for (const char* sql :
       {"select hash from person", "select kept from login_session", "select secret from form_secret",
        "select body from uplink", "select have from site_mark", "update site set organisation = 'larch'",
        "update finding set closed = now()", "delete from finding", "delete from site",
        "insert into site (site) values ('x')", "select forget_old_messages()",
        "select version from schema_version", "select count(*) from uplink_0"})
    EXPECT_THAT(refusal(page, sql), HasSubstr("permission denied")) << sql;
  Postgres intake = std::move(*Postgres::connect(stage->database.url(), "", kIntakeRole));
  for (const char* sql :
       {"select count(*) from person", "select count(*) from login_session", "delete from uplink",
        "delete from finding", "update site set organisation = 'larch'", "update uplink set body = '{}'",
        "insert into person (name) values ('x')"})
    EXPECT_THAT(refusal(intake, sql), HasSubstr("permission denied")) << sql;
  Postgres door = std::move(*Postgres::connect(stage->database.url(), "", kDoorRole));
  for (const char* sql : {"select count(*) from site", "select count(*) from finding",
                          "update person set role = 'contractor'", "delete from person"})
    EXPECT_THAT(refusal(door, sql), HasSubstr("permission denied")) << sql;
}

// The database's user needs to be no superuser, and the tables in no schema of a certain name.
TEST_F(FleetLocks, AnOwnerWithoutMorePowerIsEnough) {
  stage->database.run(
      "create role plain login createrole; create schema plainly authorization plain; alter role plain set "
      "search_path = plainly; create role weak login; create schema weakly authorization weak; alter role "
      "weak set "
      "search_path = weakly");
  const auto as = [&](const std::string& user) {
    std::string url = stage->database.url();
    return std::move(*Postgres::connect(url.replace(url.find("fleet@"), 5, user), ""));
  };
  Postgres weak = as("weak");
  const auto refused = migrate_fleet(weak);
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().what, HasSubstr("alter role weak createrole"));
  Postgres plain = as("plain");
  ASSERT_TRUE(migrate_fleet(plain));
  ASSERT_TRUE(plain.script(std::string("set role ") + kIntakeRole));
  FleetStore store(std::move(plain));
  const UtcTime now = SystemClock().utc();
  const std::string hour = std::to_string(to_ms(now) / 3'600'000 - 1);
  SiteMessage hours{"ash-1", {5, 1, UplinkKind::history, now}, {}};
  hours.body = R"({"hours":{"zone/1/current":{"hour":[)" + hour +
               R"(],"count":[60],"lowest":[0.2],"mean":[0.21],"highest":[0.22]}}})";
  const auto counts = store.ingest({hours});
  ASSERT_TRUE(counts) << counts.error().what;
  EXPECT_EQ(counts->refused, 0u);
  EXPECT_TRUE(store.forget_old());
  EXPECT_EQ(stage->database.number("select count(*) from plainly.history"), 1);
  Postgres page = as("plain");
  ASSERT_TRUE(page.script(std::string("set role ") + kPageRole));
  FleetViews views(std::move(page), 26);
  EXPECT_EQ(views.sites({"main"}, {})->all, 1) << "the only organisation takes in what is new";
  EXPECT_EQ(views.sites({"larch"}, {})->all, 0);
}

// A table that a later step adds without thinking of it is found here.
TEST_F(FleetLocks, EveryTableHasRowSecurity) {
  EXPECT_EQ(number(*owner,
                   "select count(*) from pg_class where relnamespace = current_schema()::regnamespace and "
                   "relkind in ('r', 'p') and not relispartition and not relrowsecurity"),
            0);
  EXPECT_EQ(number(*owner,
                   "select count(*) from pg_class where relnamespace = current_schema()::regnamespace and "
                   "relispartition and has_table_privilege('coilward_page', oid, 'select')"),
            0);
  EXPECT_EQ(number(*owner,
                   "select count(*) from pg_roles where rolname like 'coilward%' and (rolbypassrls or "
                   "rolsuper or rolcanlogin)"),
            0);
}

}  // namespace
}  // namespace coilward
