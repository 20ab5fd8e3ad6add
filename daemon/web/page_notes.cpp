#include "daemon/web/page_notes.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/locate/suspects.h"
#include "daemon/web/html.h"
#include "daemon/web/note_routes.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_words.h"

namespace coilward {
namespace {

int note_zone(const Config& config, const Finding& finding) {
  const int zone = zone_to_measure(config, finding);
  return zone >= 0 || finding.zones.empty() ? zone : finding.zones.front();
}

std::string stop_words(const std::string& name) {
  return name == kControllerName || name == kValveName ? "the " + name : "box " + name;
}

std::string note_place_text(const FieldNote& note) {
  if (note.place.empty()) return {};
  return note.place_to.empty() ? stop_words(note.place) : stretch_words({note.place, note.place_to, 0});
}

// "Box B: the splice was green. By Ana, 4 May 06:12 MDT."
std::string note_caption(const FieldNote& note, const Call& call) {
  const std::string place = note_place_text(note);
  return fmt::format("{}{} <span class=\"soft\">{}{}</span>",
                     place.empty() ? "" : fmt::format("<strong>{}:</strong> ", html(place)), html(note.words),
                     note.by.empty() ? "" : html(note.by) + ", ",
                     short_time_tag(note.at, call.site.now(), call.site.config()));
}

std::string note_image(const FieldNote& note) {
  if (note.mime.empty()) return {};
  const std::string place = note_place_text(note);
  return fmt::format(
      "<a href=\"{0}\"><img loading=\"lazy\" src=\"{0}\" width=\"{1}\" height=\"{2}\" alt=\"Photo{3}\"/></a>",
      picture_path(note), note.width, note.height, place.empty() ? "" : ", " + html(place));
}

std::string note_figure(const FieldNote& note, const Call& call, const std::string& more) {
  return fmt::format("<figure class=\"note\" id=\"note-{}\">{}<figcaption>{}{}</figcaption></figure>\n",
                     note.id, note_image(note), note_caption(note, call), more);
}

std::string remove_form(const FieldNote& note, const Finding& finding, const Call& call) {
  if (!call.visitor.may(Need::technician)) return {};
  return fmt::format(
      "<form method=\"post\" action=\"{}/notes/{}/remove\">{}<button "
      "class=\"small\">Delete{}</button></form>",
      finding_path(finding), note.id, token_field(call), note.mime.empty() ? " this note" : " this photo");
}

std::string place_options(const Config& config, const Finding& finding) {
  std::string options;
  for (const NotePlace& place : note_places(config, finding))
    options += fmt::format("<option value=\"{}\">{}</option>", html(place.value), html(place.text));
  return options;
}

std::string add_note_form(const Call& call, const Finding& finding) {
  if (!call.visitor.may(Need::technician)) return {};
  return fmt::format(
      "<details id=\"add-note\"><summary>Add a photo or a note</summary><form method=\"post\" "
      "action=\"{}/notes\" "
      "enctype=\"multipart/form-data\" class=\"row\">{}<label for=\"note-place\">Where</label><select "
      "id=\"note-place\" name=\"place\">{}</select><label for=\"note-photo\">Take a photo</label><input "
      "id=\"note-photo\" type=\"file\" name=\"photo\" accept=\"image/jpeg,image/png,image/webp\" "
      "capture=\"environment\"><label for=\"note-chosen\">or choose one (JPEG, PNG or WebP, {} MB at "
      "most)</label>"
      "<input id=\"note-chosen\" type=\"file\" name=\"chosen\" "
      "accept=\"image/jpeg,image/png,image/webp\"><label "
      "for=\"note-words\">In words</label><input id=\"note-words\" name=\"words\" maxlength=\"500\"><label "
      "for=\"note-by\">Your name, if you like</label><input id=\"note-by\" name=\"by\" maxlength=\"60\" "
      "autocomplete=\"name\"><p class=\"soft\">The place, time and make that a camera writes into a picture "
      "are "
      "taken out before it is kept.</p><button>Keep it</button></form></details>\n",
      finding_path(finding), token_field(call), place_options(call.site.config(), finding),
      kMostPictureBytes >> 20);
}

}  // namespace

std::vector<NotePlace> note_places(const Config& config, const Finding& finding) {
  std::vector<NotePlace> places = {{"", "", "", "no place in particular"}};
  const WirePath path = wire_path(config, note_zone(config, finding));
  for (int i = 0; i <= path.last(); ++i) {
    const std::string& name = path.stop(i).name;
    if (i > 0) {
      const std::string& before = path.stop(i - 1).name;
      places.push_back({before + ">" + name, before, name, stretch_words({before, name, 0})});
    }
    places.push_back({name, name, "", stop_words(name)});
  }
  return places;
}

std::string notes_part(const Call& call, const Finding& finding) {
  const auto notes = call.site.notes(finding.id);
  std::string out = "<section id=\"notes\"><h2>Photos and notes</h2>\n";
  if (!notes)
    return out + fmt::format("<p>They cannot be read: {}</p></section>\n", html(notes.error().what));
  const bool may_act = call.site.notes_desk() != nullptr;
  if (notes->empty()) out += "<p>None so far.</p>\n";
  for (const FieldNote& note : *notes)
    out += note_figure(note, call, may_act ? remove_form(note, finding, call) : "");
  return out + (may_act ? add_note_form(call, finding) : "") + "</section>\n";
}

std::string notes_on_sheet(const Call& call, const Finding& finding) {
  const auto notes = call.site.notes(finding.id);
  std::string out;
  if (notes)
    for (const FieldNote& note : *notes) out += note_figure(note, call, "");
  return out;
}

std::string picture_path(const FieldNote& note) { return fmt::format("/api/v1/notes/{}/picture", note.id); }

Json note_to_json(const FieldNote& note) {
  Json json = {{"id", note.id}, {"finding", note.finding}};
  if (note.place_to.empty())
    json["at"] = note.place.empty() ? Json(nullptr) : Json(note.place);
  else
    json["from"] = note.place, json["to"] = note.place_to;
  json["noted"] = time_or_null(note.at);
  json["by"] = note.by;
  json["words"] = note.words;
  json["picture"] = note.mime.empty() ? Json(nullptr)
                                      : Json{{"path", picture_path(note)},
                                             {"type", note.mime},
                                             {"width", note.width},
                                             {"height", note.height},
                                             {"bytes", note.bytes}};
  return json;
}

}  // namespace coilward
