// Where words go: data to stdout, everything else to stderr. Thread: one.
#pragma once

#include <string_view>

#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"

namespace coilward {

// One line to stderr, with the program's name before it.
void say(std::string_view line);
// As it is to stdout.
void print(std::string_view text);
// One JSON value on one line to stdout.
void print_json(const Json& json);
// Says the error and gives the exit status for it.
int fail(const Error& error);
// Gives `code` unless what was printed could not be written (a full disk behind `>`): then says so, 1.
int finish(int code);

}  // namespace coilward
