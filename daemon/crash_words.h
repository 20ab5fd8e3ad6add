// The last words of a program that crashes: who, and what to do about it. A plugin lives in our process and
// takes it with it.
#pragma once

namespace coilward {

// Once, at start. The crash itself goes on as it would: core dump, exit by the signal, restart by the service
// manager.
void say_who_crashed();

}  // namespace coilward
