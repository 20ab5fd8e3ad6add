// SIGTERM, SIGINT and SIGHUP between two daemons of one process (a reload): held back by the kernel until the
// next one listens, as nobody else would take them and their default is to end the process.
#pragma once

namespace coilward {

// Thread: the main one, and threads that it starts while they are held inherit that.
void hold_stop_signals();
void let_stop_signals_in();

}  // namespace coilward
