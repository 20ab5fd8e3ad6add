// An outcome that is either a value or a reason. No exception crosses a stage or a thread.
#pragma once

#include <boost/system/result.hpp>
#include <string>

namespace coilward {

// Why something could not be done, sorted by who has to act.
enum class Cause {
  bad_input,   // what came from outside is wrong: a payload, a request, a command line
  bad_config,  // the configuration is wrong: exit status 78
  world,       // a disk, a broker, a server failed; trying again may help
  not_found,
  conflict,  // right in itself, not possible now (restore while the daemon runs)
};

struct Error {
  Cause cause = Cause::world;
  std::string what;  // one sentence: what was found, what is allowed, where
};

// Called by Result<T>::value() when there is none: a bug in the caller.
[[noreturn]] void throw_exception_from_error(const Error& error, const boost::source_location& where);

template <class T>
class [[nodiscard]] Result : public boost::system::result<T, Error> {
  using Base = boost::system::result<T, Error>;

 public:
  using Base::Base;
};

}  // namespace coilward
