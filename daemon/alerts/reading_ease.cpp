#include "daemon/alerts/reading_ease.h"

#include <algorithm>
#include <cctype>
#include <vector>

namespace coilward {
namespace {

// Letters as plain lower case; an accented vowel as its capital, which is what counts for a hiatus.
std::string simplified(std::string_view word) {
  static const std::vector<std::pair<std::string_view, char>> kAccents = {
      {"á", 'A'}, {"é", 'E'}, {"í", 'I'}, {"ó", 'O'}, {"ú", 'U'}, {"ü", 'w'}, {"ñ", 'n'},
      {"Á", 'A'}, {"É", 'E'}, {"Í", 'I'}, {"Ó", 'O'}, {"Ú", 'U'}, {"Ñ", 'n'}};
  std::string out;
  for (std::size_t i = 0; i < word.size();) {
    const auto accent = std::find_if(kAccents.begin(), kAccents.end(),
                                     [&](const auto& a) { return word.substr(i).starts_with(a.first); });
    if (accent != kAccents.end()) {
      out += accent->second;
      i += accent->first.size();
    } else {
      out += static_cast<char>(std::tolower(static_cast<unsigned char>(word[i++])));
    }
  }
  return out;
}

bool in(char c, std::string_view set) { return set.find(c) != std::string_view::npos; }

// Two strong vowels, or a weak one with an accent beside a strong one, are two syllables.
bool hiatus(char a, char b) {
  const auto strong = [](char c) { return in(c, "aeoAEO"); };
  return (strong(a) && strong(b)) || (strong(a) && in(b, "IU")) || (in(a, "IU") && strong(b)) || a == b;
}

int spanish_syllables(const std::string& word) {
  int count = 0;
  char before = 0;
  for (std::size_t i = 0; i < word.size(); ++i) {
    const char c = word[i];
    const char next = i + 1 < word.size() ? word[i + 1] : 0;
    const bool silent = c == 'u' && i > 0 && (word[i - 1] == 'q' || (word[i - 1] == 'g' && in(next, "eiEI")));
    const bool vowel = !silent && (in(c, "aeiouAEIOU") || (c == 'y' && i + 1 == word.size()));
    if (vowel && (before == 0 || hiatus(before, c))) ++count;
    if (!silent) before = vowel ? c : 0;
  }
  return count;
}

int english_syllables(const std::string& word) {
  int count = 0;
  bool before = false;
  for (std::size_t i = 0; i < word.size(); ++i) {
    const bool vowel = in(word[i], "aeiouy") && !(i == 0 && word[i] == 'y');
    if (vowel && !before) ++count;
    before = vowel;
  }
  const bool silent_e =
      word.size() > 2 && word.ends_with('e') && !word.ends_with("le") && !in(word[word.size() - 2], "aeiouy");
  const bool silent_ed = word.size() > 3 && word.ends_with("ed") && !in(word[word.size() - 3], "aeiouytd");
  return count - (count > 1 && (silent_e || silent_ed));
}

bool letter(char c) { return std::isalnum(static_cast<unsigned char>(c)) || (c & 0x80) != 0 || c == '\''; }

}  // namespace

int syllables(std::string_view word, Language language) {
  const std::string simple = simplified(word);
  return std::max(1, language == Language::spanish ? spanish_syllables(simple) : english_syllables(simple));
}

double reading_ease(const std::string& text, Language language) {
  int words = 0, sentences = 0, all_syllables = 0, in_sentence = 0;
  std::string word;
  for (char c : text + "\n") {
    if (letter(c)) {
      word += c;
      continue;
    }
    const bool number = std::any_of(word.begin(), word.end(), [](char d) { return d >= '0' && d <= '9'; });
    if (!word.empty() && !number) ++words, ++in_sentence, all_syllables += syllables(word, language);
    word.clear();
    if (in(c, ".!?:;\n") && in_sentence > 0) ++sentences, in_sentence = 0;
  }
  if (words == 0) return 0;
  const double length = double(words) / std::max(1, sentences), weight = double(all_syllables) / words;
  return language == Language::spanish ? 206.835 - 62.3 * weight - length
                                       : 206.835 - 1.015 * length - 84.6 * weight;
}

}  // namespace coilward
