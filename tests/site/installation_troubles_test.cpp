// Which trouble each sign means, and which it does not.
#include "daemon/installation_troubles.h"

#include <gtest/gtest.h>

#include "daemon/alerts/words.h"

namespace coilward {
namespace {

const UtcTime kNoon = *parse_rfc3339("2026-05-04T12:00:00Z");
UtcTime ago(double seconds) { return kNoon - Millis{static_cast<std::int64_t>(seconds * 1000)}; }

InstallationSigns all_is_well() {
  InstallationSigns signs;
  signs.broker.connected = true;
  signs.broker.since = ago(86'400);
  signs.silence = {ago(2), 600};
  signs.notifiers.resize(1);
  signs.notifiers[0].name = "phone";
  return signs;
}

std::vector<std::string> keys_of(const InstallationSigns& signs) {
  std::vector<std::string> keys;
  for (const SiteTrouble& trouble : troubles_of(signs, kNoon)) {
    const std::string name = "installation." + trouble.key.substr(0, trouble.key.find(' '));
    EXPECT_TRUE(Words::in(Language::english).has(name + ".line")) << name;
    EXPECT_TRUE(trouble.lasts);
    keys.push_back(trouble.key);
  }
  return keys;
}
using Keys = std::vector<std::string>;

struct Sign {
  const char* name;
  void (*make)(InstallationSigns&);
  Keys means;
};
const Sign kSigns[] = {
    {"AllIsWell", [](InstallationSigns&) {}, {}},
    {"BrokerAway", [](InstallationSigns& s) { s.broker.connected = false; }, {"broker"}},
    {"NothingElseOfWhatComesThroughIt",
     [](InstallationSigns& s) {
       s.broker.connected = false;
       s.silence.heard = ago(5000);
     },
     {"broker"}},
    {"AllSensorsSilent", [](InstallationSigns& s) { s.silence.heard = ago(601); }, {"sensors"}},
    {"SilentForAsLongAsEver", [](InstallationSigns& s) { s.silence.heard = ago(599); }, {}},
    {"SilentSinceTheBrokerWasAway",
     [](InstallationSigns& s) {
       s.silence.heard = ago(5000);
       s.broker.since = ago(10);
     },
     {}},
    {"NotKnownHowOftenTheySpeak",
     [](InstallationSigns& s) {
       s.silence = {ago(50'000), kNotMeasured};
     },
     {}},
    {"NeverHeard",
     [](InstallationSigns& s) {
       s.silence = {};
       s.broker.since = ago(kNeverHeard_s + 1);
     },
     {"sensors"}},
    {"NotHeardYet", [](InstallationSigns& s) { s.silence = {}; }, {}},
    {"HeardButNoRoom",
     [](InstallationSigns& s) {
       s.silence.heard = ago(601);
       s.lost_lately = 7;
     },
     {"spool"}},
    {"NotLetHear",
     [](InstallationSigns& s) {
       s.broker.refused = "coilward/juniper/measure/#";
       s.silence.heard = ago(601);
     },
     {"refused"}},
    {"OurIdIsUsed", [](InstallationSigns& s) { s.broker.id_contested = true; }, {"client_id"}},
    {"DiskFull", [](InstallationSigns& s) { s.store = "disk full"; }, {"disk"}},
    {"ClockNotSet", [](InstallationSigns& s) { s.clock_unsure = true; }, {"clock"}},
    {"NotifierFails", [](InstallationSigns& s) { s.notifiers[0].failures = 3; }, {"outbox phone"}},
    {"NotifierFailedOnce", [](InstallationSigns& s) { s.notifiers[0].failures = 1; }, {}},
    {"OutboxUnreadable",
     [](InstallationSigns& s) { s.notifiers[0].trouble = "disk I/O error"; },
     {"unread phone"}},
    {"OutboxStuck", [](InstallationSigns& s) { s.outbox_age_s = kOutboxWaits_s + 1; }, {"waiting"}},
    {"OutboxWaitsForAFailingNotifier",
     [](InstallationSigns& s) {
       s.outbox_age_s = kOutboxWaits_s + 1;
       s.notifiers[0].failures = 3;
     },
     {"outbox phone"}},
    {"CertificateEnds", [](InstallationSigns& s) { s.certificate = "page.pem ends"; }, {"certificate"}},
    {"ReloadRefused", [](InstallationSigns& s) { s.reload = "site.toml:9"; }, {"reload"}},
};

class InstallationTroubles : public testing::TestWithParam<Sign> {};
INSTANTIATE_TEST_SUITE_P(Each, InstallationTroubles, testing::ValuesIn(kSigns),
                         [](const auto& each) { return std::string(each.param.name); });

TEST_P(InstallationTroubles, IsToldAsWhatItIs) {
  InstallationSigns signs = all_is_well();
  GetParam().make(signs);
  EXPECT_EQ(keys_of(signs), GetParam().means);
}

}  // namespace
}  // namespace coilward
