#include "app/drawing/fonts.h"

#include <hb-ot.h>
#include <hb.h>

#include <array>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <mutex>

namespace app {
namespace {

struct ByScript {
  hb_script_t script;
  const char* file;  // without "-Regular.ttf"
};
constexpr ByScript kScripts[] = {
    {HB_SCRIPT_ARABIC, "NotoSansArabic"},       {HB_SCRIPT_ARMENIAN, "NotoSansArmenian"},
    {HB_SCRIPT_BENGALI, "NotoSansBengali"},     {HB_SCRIPT_DEVANAGARI, "NotoSansDevanagari"},
    {HB_SCRIPT_ETHIOPIC, "NotoSansEthiopic"},   {HB_SCRIPT_GEORGIAN, "NotoSansGeorgian"},
    {HB_SCRIPT_GUJARATI, "NotoSansGujarati"},   {HB_SCRIPT_GURMUKHI, "NotoSansGurmukhi"},
    {HB_SCRIPT_HEBREW, "NotoSansHebrew"},       {HB_SCRIPT_KANNADA, "NotoSansKannada"},
    {HB_SCRIPT_KHMER, "NotoSansKhmer"},         {HB_SCRIPT_LAO, "NotoSansLao"},
    {HB_SCRIPT_MALAYALAM, "NotoSansMalayalam"}, {HB_SCRIPT_MONGOLIAN, "NotoSansMongolian"},
    {HB_SCRIPT_MYANMAR, "NotoSansMyanmar"},     {HB_SCRIPT_ORIYA, "NotoSansOriya"},
    {HB_SCRIPT_SINHALA, "NotoSansSinhala"},     {HB_SCRIPT_SYRIAC, "NotoSansSyriac"},
    {HB_SCRIPT_TAMIL, "NotoSansTamil"},         {HB_SCRIPT_TELUGU, "NotoSansTelugu"},
    {HB_SCRIPT_THAI, "NotoSansThai"},           {HB_SCRIPT_TIBETAN, "NotoSerifTibetan"},
};
// Tried in this order for what is left: rare letters, arrows, signs, Chinese, Japanese, Korean.
constexpr const char* kRest[] = {"NotoSans",     "NotoSansSymbols", "NotoSansSymbols2",
                                 "NotoSansMath", "NotoSansCJK",     "DroidSansFallbackFull",
                                 "DejaVuSans",   "NotoEmoji"};
constexpr const char* kSystemFolders[] = {
    "/fonts",
    "/usr/share/fonts/opentype/inter",
    "/usr/share/fonts/truetype/inter",
    "/usr/share/fonts/truetype/noto",
    "/usr/share/fonts/opentype/noto",
    "/usr/share/fonts/truetype/droid",
    "/usr/share/fonts/truetype/dejavu",
    "/usr/local/share/fonts",
};

}  // namespace

struct Fonts::Inner {
  struct Face {
    std::string path;
    hb_font_t* font = nullptr;
    unsigned units = 1000;
  };
  mutable std::mutex lock;
  std::vector<std::string> folders;
  std::vector<std::unique_ptr<Face>> faces;
  std::map<std::string, int> by_name;                // -1 = looked for, not there
  std::array<std::map<char32_t, int>, 2> by_letter;  // of each weight

  int open(const std::string& name, Weight weight) {
    const bool bold = weight == Weight::semibold;
    const std::string key = name + (bold ? "/b" : "/r");
    if (auto known = by_name.find(key); known != by_name.end()) return known->second;
    int found = -1;
    using Styles = std::vector<const char*>;
    for (const char* style :
         bold ? Styles{"-SemiBold", "-Bold", "-Regular", ""} : Styles{"-Regular", ""}) {
      for (const char* ending : {".otf", ".ttf", ".ttc"}) {
        for (const auto& folder : folders) {
          if (found < 0) found = load(folder + "/" + name + style + ending);
        }
      }
    }
    return by_name[key] = found;
  }

  int load(const std::string& path) {
    std::error_code ignored;
    if (!std::filesystem::is_regular_file(path, ignored)) return -1;
    for (std::size_t i = 0; i < faces.size(); ++i) {
      if (faces[i]->path == path) return static_cast<int>(i);
    }
    hb_blob_t* blob = hb_blob_create_from_file_or_fail(path.c_str());
    if (!blob) return -1;
    hb_face_t* face = hb_face_create(blob, 0);
    hb_blob_destroy(blob);
    const bool usable = hb_face_get_glyph_count(face) > 0;
    if (usable) {
      auto entry = std::make_unique<Face>();
      entry->path = path;
      entry->font = hb_font_create(face);  // functions of the font file itself, scale = its units
      entry->units = hb_face_get_upem(face);
      hb_font_make_immutable(entry->font);
      faces.push_back(std::move(entry));
    }
    hb_face_destroy(face);
    return usable ? static_cast<int>(faces.size()) - 1 : -1;
  }

  bool has(int face, char32_t letter) const {
    hb_codepoint_t glyph = 0;
    return face >= 0 && hb_font_get_nominal_glyph(faces[face]->font, letter, &glyph) && glyph != 0;
  }

  int base(Weight weight) {
    for (const char* name : {"Inter", "NotoSans", "DejaVuSans"}) {
      if (int face = open(name, weight); face >= 0) return face;
    }
    return -1;
  }

  int search(char32_t letter, Weight weight) {
    const int plain = base(weight);
    if (has(plain, letter)) return plain;
    const hb_script_t script = hb_unicode_script(hb_unicode_funcs_get_default(), letter);
    for (const auto& entry : kScripts) {
      if (entry.script != script) continue;
      if (int face = open(entry.file, weight); has(face, letter)) return face;
    }
    for (const char* name : kRest) {
      if (int face = open(name, weight); has(face, letter)) return face;
    }
    // Signs that several scripts share, such as the danda or the Arabic comma, lie in the fonts of those scripts.
    if (script == HB_SCRIPT_COMMON && letter >= 0x0600)
      for (const auto& entry : kScripts)
        if (int face = open(entry.file, weight); has(face, letter)) return face;
    return plain;  // shows its box for a missing letter
  }
};

Fonts& Fonts::shared() {
  static Fonts fonts;
  return fonts;
}

Fonts::Fonts() : in_(std::make_unique<Inner>()) {
  if (const char* given = std::getenv("ADRET_FONTS")) {
    std::string folder;
    for (const char* c = given;; ++c) {
      if (*c != ':' && *c != '\0') {
        folder += *c;
        continue;
      }
      if (!folder.empty()) in_->folders.push_back(folder);
      folder.clear();
      if (*c == '\0') break;
    }
  }
  in_->folders.insert(in_->folders.end(), std::begin(kSystemFolders), std::end(kSystemFolders));
}

Fonts::~Fonts() {
  for (auto& face : in_->faces) hb_font_destroy(face->font);
}

void Fonts::add_folder(std::string folder) {
  std::lock_guard guard(in_->lock);
  in_->folders.insert(in_->folders.begin(), std::move(folder));
  in_->by_name.clear();
  for (auto& letters : in_->by_letter) letters.clear();
}

std::string Fonts::problem() const {
  std::lock_guard guard(in_->lock);
  if (in_->base(Weight::regular) >= 0) return {};
  return "error.no_font";
}

int Fonts::face_for(char32_t letter, Weight weight) {
  std::lock_guard guard(in_->lock);
  auto& known = in_->by_letter[weight == Weight::semibold];
  if (auto it = known.find(letter); it != known.end()) return it->second;
  return known[letter] = in_->search(letter, weight);
}

int Fonts::base_face(Weight weight) {
  std::lock_guard guard(in_->lock);
  return in_->base(weight);
}

std::string Fonts::path(int face) const {
  std::lock_guard guard(in_->lock);
  return in_->faces.at(face)->path;
}

hb_font_t* Fonts::shaping_font(int face) {
  std::lock_guard guard(in_->lock);
  return in_->faces.at(face)->font;
}

float Fonts::units_per_em(int face) const {
  std::lock_guard guard(in_->lock);
  return static_cast<float>(in_->faces.at(face)->units);
}

}  // namespace app
