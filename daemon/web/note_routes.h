// The routes of photos and notes. One table, which api.cpp takes in. The folder's own header.
#pragma once

#include "daemon/web/api_route.h"
#include "daemon/web/picture.h"

namespace coilward {

// note_actions.cpp
void act_add_note(const Call& call, Respond respond);
void act_remove_note(const Call& call, Respond respond);
void get_note_picture(const Call& call, Respond respond);
ApiResponse get_notes(const Call& call);

// A picture, and the few words around it.
inline constexpr std::size_t kMostUploadBytes = kMostPictureBytes + (64u << 10);

inline constexpr RouteEntry kNoteRoutes[] = {
    {"POST", "/finding/{id}/notes", Need::technician, "token place words by photo chosen", nullptr,
     act_add_note, Face::page, kMostUploadBytes},
    {"POST", "/finding/{id}/notes/{note}/remove", Need::technician, "token", nullptr, act_remove_note,
     Face::page},
    {"GET", "/api/v1/findings/{id}/notes", Need::read, "", get_notes},
    {"GET", "/api/v1/notes/{note}/picture", Need::read, "", nullptr, get_note_picture},
};

}  // namespace coilward
