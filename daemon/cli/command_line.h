// The command line of contract section 7. Thread: one.
#pragma once

namespace coilward {

// Parses, does, and gives the exit status: 0 done, 1 failed, 2 wrong usage, 78 wrong configuration.
int run_command_line(int argc, char** argv);

}  // namespace coilward
