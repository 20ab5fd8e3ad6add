// What is done with photos and notes: kept, deleted, handed out.
#include <fmt/format.h>

#include <charconv>
#include <nlohmann/json.hpp>

#include "daemon/web/html.h"
#include "daemon/web/note_routes.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_notes.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestNote = 500, kLongestNoteBy = 60;

// The page says by a word how it went (page_frame.cpp).
ApiResponse back_to_notes(const Finding& finding, std::string_view said) {
  ApiResponse response{303, "text/plain; charset=utf-8"};
  response.location = fmt::format("{}?said={}#notes", finding_path(finding), said);
  return response;
}

std::string_view said_of(const Error& error) {
  if (error.cause == Cause::not_found) return "note_gone";
  return error.cause == Cause::conflict ? "notes_full" : "note_not_kept";
}

std::string note_field(const Call& call, const char* name, std::size_t most) {
  const auto it = call.form.find(name);
  return it == call.form.end() ? std::string() : short_text(it->second, most);
}

Result<std::int64_t> note_number(const std::string& text) {
  std::int64_t id = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), id);
  if (error != std::errc{} || end != text.data() + text.size() || id < 1)
    return Error{Cause::not_found, "there is no such note"};
  return id;
}

Result<bool> put_in_place(const Call& call, const Finding& finding, FieldNote& note) {
  const std::string value = note_field(call, "place", 200);
  for (const NotePlace& place : note_places(call.site.config(), finding))
    if (place.value == value) {
      note.place = place.from;
      note.place_to = place.to;
      return true;
    }
  return Error{Cause::bad_input, "the finding's wire has no such place"};
}

Result<Picture> picture_of(const Call& call, FieldNote& note) {
  if (call.file.empty()) return Picture{};
  auto picture = clean_picture(call.file);
  if (!picture) return picture;
  note.mime = picture_mime(picture->type);
  note.width = picture->width;
  note.height = picture->height;
  note.bytes = picture->bytes.size();
  return picture;
}

Error nobody_keeps_notes() {
  return {Cause::conflict, "photos and notes are kept by the running daemon alone"};
}

}  // namespace

void act_add_note(const Call& call, Respond respond) {
  const auto refuse = [&](const Error& error) { respond(problem_page(call, problem(error))); };
  NotesDesk* desk = call.site.notes_desk();
  if (!desk) return refuse(nobody_keeps_notes());
  const auto finding = call.site.finding(call.args[0]);
  if (!finding) return refuse(finding.error());
  FieldNote note;
  note.finding = finding->id;
  note.at = call.site.now();
  note.words = note_field(call, "words", kLongestNote);
  note.by = note_field(call, "by", kLongestNoteBy);
  if (note.words.empty() && call.file.empty())
    return refuse({Cause::bad_input, "there is neither a photo nor a word in it"});
  if (const auto placed = put_in_place(call, *finding, note); !placed) return refuse(placed.error());
  auto picture = picture_of(call, note);
  if (!picture) return refuse(picture.error());
  desk->add(note, std::move(picture->bytes), [respond, finding = *finding](const Result<std::int64_t>& kept) {
    respond(back_to_notes(finding, kept ? "noted" : said_of(kept.error())));
  });
}

void act_remove_note(const Call& call, Respond respond) {
  const auto refuse = [&](const Error& error) { respond(problem_page(call, problem(error))); };
  NotesDesk* desk = call.site.notes_desk();
  if (!desk) return refuse(nobody_keeps_notes());
  const auto finding = call.site.finding(call.args[0]);
  if (!finding) return refuse(finding.error());
  const auto id = note_number(call.args[1]);
  if (!id) return refuse(id.error());
  desk->remove(finding->id, *id, [respond, finding = *finding](const Result<bool>& done) {
    respond(back_to_notes(finding, done ? "note_removed" : said_of(done.error())));
  });
}

// A number is never given to another picture, so that a browser may keep it.
void get_note_picture(const Call& call, Respond respond) {
  NotesDesk* desk = call.site.notes_desk();
  if (!desk) return respond(problem(nobody_keeps_notes()));
  const auto id = note_number(call.args[0]);
  if (!id) return respond(problem(id.error()));
  desk->picture(*id, [respond](const Result<PictureAnswer>& found) {
    if (!found) return respond(problem(found.error()));
    ApiResponse response{200, found->mime, found->bytes};
    response.cache = "private, max-age=31536000, immutable";
    respond(std::move(response));
  });
}

ApiResponse get_notes(const Call& call) {
  const auto finding = call.site.finding(call.args[0]);
  if (!finding) return problem(finding.error());
  const auto notes = call.site.notes(finding->id);
  if (!notes) return problem(notes.error());
  Json list = Json::array();
  for (const FieldNote& note : *notes) list.push_back(note_to_json(note));
  return json_response({{"finding", finding->id}, {"notes", std::move(list)}});
}

}  // namespace coilward
