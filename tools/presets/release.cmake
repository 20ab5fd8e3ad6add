# What a board runs. Use: cmake -C tools/presets/release.cmake -S . -B build/release -G Ninja
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(CMAKE_CXX_FLAGS_RELWITHDEBINFO "-O2 -g1" CACHE STRING "")
