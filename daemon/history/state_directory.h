// The directory of precious files, and the lock that keeps two writers out of it: the daemon and offline
// writers (restore, `replay --state`) hold it; readers do not need it.
#pragma once

#include <string>

#include "daemon/base/result.h"

namespace coilward {

inline std::string history_path(const std::string& directory) { return directory + "/history.db"; }
inline std::string state_path(const std::string& directory) { return directory + "/state.db"; }
inline std::string notes_path(const std::string& directory) { return directory + "/notes.db"; }

// Thread: one. The lock (flock on DIR/lock) ends with the object or the process, however that ends.
class StateDirectory {
 public:
  // Makes the directory (0750) when it is missing. conflict: someone else holds the lock, its process id is
  // in the text. world: cannot be made or written.
  static Result<StateDirectory> lock(const std::string& directory);

  StateDirectory(StateDirectory&& other) noexcept;
  StateDirectory& operator=(StateDirectory&& other) noexcept;
  StateDirectory(const StateDirectory&) = delete;
  StateDirectory& operator=(const StateDirectory&) = delete;
  ~StateDirectory();

  const std::string& path() const { return path_; }
  std::string history() const { return history_path(path_); }
  std::string state() const { return state_path(path_); }

 private:
  StateDirectory(std::string path, int fd) : path_(std::move(path)), fd_(fd) {}
  std::string path_;
  int fd_ = -1;
};

}  // namespace coilward
