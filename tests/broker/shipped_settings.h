// The broker settings that we ship, in config/mosquitto.conf and config/mosquitto.acl, for a broker of a
// test.
#pragma once

#include "tests/support/broker.h"

namespace coilward {

// The shipped file in a folder that the broker's own configuration includes. Only what must differ in a test
// is changed: the listener is the fixture's, the files are not in /etc, and the site is juniper. Users and
// passwords: coilward one, sensors two, readers three.
BrokerOptions with_shipped_settings(const TemporaryDirectory& etc);

}  // namespace coilward
