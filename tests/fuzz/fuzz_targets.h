// What outsiders' bytes go through, one function for each kind: it must come back, whatever it is given, and
// it ends the program when something that must always hold does not. Run by a test with the inputs that are
// kept.
#pragma once

#include <span>
#include <string_view>

namespace coilward {

struct FuzzTarget {
  const char* name;  // of its folder of kept inputs, too
  void (*run)(std::string_view input);
};

std::span<const FuzzTarget> fuzz_targets();
// nullptr: there is none of that name.
const FuzzTarget* find_fuzz_target(std::string_view name);

// Ends the program, with what should hold, unless it does.
void must_hold(bool holds, const char* what);

// decoders_fuzz.cpp: the plugins, through the host. In the first byte of `json` is which pointers are set.
void fuzz_number(std::string_view input);
void fuzz_senml(std::string_view input);
void fuzz_json(std::string_view input);
// texts_fuzz.cpp
void fuzz_topic(std::string_view input);      // filter, line end, topic
void fuzz_recording(std::string_view input);  // a whole recording
void fuzz_config(std::string_view input);
void fuzz_settings(
    std::string_view input);  // schema, zero byte, settings; without the zero byte settings alone
// http_fuzz.cpp: a request to the whole API; and what it is made of.
void fuzz_http(std::string_view input);
void fuzz_query(std::string_view input);
// kept_fuzz.cpp: what a damaged disk gives back, and readings that a technician enters
void fuzz_chunk(std::string_view input);
void fuzz_spool(std::string_view input);
void fuzz_test_reading(std::string_view input);

}  // namespace coilward
