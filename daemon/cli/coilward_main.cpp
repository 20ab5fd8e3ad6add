#include "daemon/cli/command_line.h"

int main(int argc, char** argv) { return coilward::run_command_line(argc, argv); }
