/* markup.h - the smallest pieces of the page: text made safe, numbers rounded, values in both units. */
#ifndef TANGWRIGHT_SHEET_MARKUP_H
#define TANGWRIGHT_SHEET_MARKUP_H

#include "base/text.h"

/* For the content of elements and for attribute values. What is no UTF-8, and what XML does not allow, becomes "?". */
void sheet_escape(struct tw_text *text, const char *words);

/* The same for words with units in ASCII, as the terminal shows them: um becomes µm, mm3 mm³. */
void sheet_escape_units(struct tw_text *text, const char *words);

/* The last part of a path, escaped: a sheet says which file, not on whose machine. */
void sheet_file_name(struct tw_text *text, const char *path);

/* For a string of JSON inside a script element, without its quotes; `length` bytes. */
void sheet_escape_json(struct tw_text *text, const char *bytes, size_t length);

/* With that many decimals, and never a minus before zero. */
void sheet_number(struct tw_text *text, double value, int decimals);

/* "27\u201329" with what stands between them; once only where both come to the same. */
void sheet_range(struct tw_text *text, double low, double high, int decimals, const char *between);

/* How finely a length can be measured or set in a shop; decimals of mm and inch. */
enum sheet_precision {
    SHEET_RULE,   /* 0.1 mm, 0.01 in: rule and calliper */
    SHEET_GAUGE,  /* 0.01 mm, 0.0005 in and so four decimals: shims, places */
    SHEET_BLOCKS, /* 0.001 mm, 0.0001 in: thicknesses that decide, gauge blocks, dial, infeed */
};

/* "2.07 mm" and, smaller, "0.0815 in", or the other way round; nothing is "0 mm" alone. */
void sheet_length(struct tw_text *text, bool inch_first, double mm, enum sheet_precision precision);

/* The same, without the other unit. */
void sheet_length_short(struct tw_text *text, bool inch, double mm, enum sheet_precision precision);

/* What a dial cannot show: "4.9 µm" or "0.19 thou", "under 0.1 µm". */
void sheet_micrometres(struct tw_text *text, bool inch, double mm);
/* "2.12 cm³" and, smaller, "0.129 in³", or the other way round. */
void sheet_volume(struct tw_text *text, bool inch_first, double mm3);

/* In the unit of the shop: degF where lengths are in inches. */
double sheet_degrees(bool inch, double degC);
const char *sheet_degrees_unit(bool inch);
/* "174 °C" alone. */
void sheet_temperature_short(struct tw_text *text, bool inch, double degC);
/* "174 °C" and, smaller, "345 °F", or the other way round. */
void sheet_temperature(struct tw_text *text, bool inch_first, double degC);

/* "7 min 22 s" */
void sheet_duration(struct tw_text *text, double time_s);

/* Opens and closes an element that carries the exact figure; what is shown is printed between them. */
void sheet_value_open(struct tw_text *text, const char *key, double value);
void sheet_value_close(struct tw_text *text);

#endif
