/* checks.c - keeping the worst of each check. */
#include "verdict/checks.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const struct {
    const char *name, *question;
} words[TW_CHECK_COUNT] = {
    [TW_CHECK_TEXT] = { "text", "does every line read and make sense as RS-274?" },
    [TW_CHECK_CARD] = { "card", "was it written for this job, this side and these inputs?" },
    [TW_CHECK_MODES] = { "modes", "does it set all modes and raise the wheel clear before anything else?" },
    [TW_CHECK_OFFSETS] = { "offsets", "are its work offsets those of the fixture's stations, and left alone?" },
    [TW_CHECK_TRAVEL] = { "travel", "does every axis stay within its travel?" },
    [TW_CHECK_WHEEL_SPEED] = { "wheel speed", "does the wheel stay below its operating speed?" },
    [TW_CHECK_SPINDLE] = { "spindle", "does the wheel turn as planned whenever it cuts?" },
    [TW_CHECK_COOLANT] = { "coolant", "is the coolant as the job asks whenever the wheel cuts?" },
    [TW_CHECK_FEED] = { "feed", "are all feeds within the limits of the machine and its axes?" },
    [TW_CHECK_RAPIDS] = { "rapids", "do rapids keep their clearance?" },
    [TW_CHECK_CONTACT] = { "contact", "does nothing touch blade, pad, pin, clamp or fixture?" },
    [TW_CHECK_CLEARANCE] = { "clearance", "do feeds keep the fixture's clearance from all its parts?" },
    [TW_CHECK_DEPTH] = { "depth", "is no cut deeper than the wheel's largest infeed?" },
    [TW_CHECK_POWER] = { "power", "does the spindle have the power?" },
    [TW_CHECK_HOLDING] = { "holding", "does the fixture hold the part?" },
    [TW_CHECK_TEMPERATURE] = { "temperature",
                               "does the steel stay below the limit, by the estimate with its reserve?" },
    [TW_CHECK_BULK] = { "bulk", "does the tang itself stay below the limit, flashes aside?" },
    [TW_CHECK_GOUGE] = { "gouge", "is nothing cut below the target?" },
    [TW_CHECK_STOCK_LEFT] = { "stock left", "does nothing stand above the target?" },
    [TW_CHECK_FLATNESS] = { "flatness", "is the face flat?" },
    [TW_CHECK_RELIEF] = { "relief", "is the relief at its depth wherever the wheel can go?" },
    [TW_CHECK_TEMPERING] = { "tempering", "do all the flashes together temper the steel no further than allowed?" },
    [TW_CHECK_ENDING] = { "ending", "is the wheel raised clear, everything off, and the end proper?" },
    [TW_CHECK_FINISHING] = { "finishing", "do the last layers keep to the job's finish.infeed?" },
    [TW_CHECK_HEAT] = { "heat", "do the history of heat and an estimate from first principles agree?" },
    [TW_CHECK_TIME] = { "time", "do two reckonings of the cycle time, which share nothing, agree?" },
    [TW_CHECK_WEAR] = { "wear", "does the wheel's wear, over the range of its grinding ratio, leave the face where it "
                                "belongs?" },
    [TW_CHECK_DRESSING] = { "dressing", "is the wheel dressed before it has taken off as much as it may?" },
    [TW_CHECK_SPRING_BACK] = { "spring-back",
                               "does the machine, at its softest, leave no more on the face than half of "
                               "the tolerance?" },
    [TW_CHECK_FILM] = { "film", "does the coolant's film, where a pass relies on it, last with heat.film_reserve?" },
    [TW_CHECK_LIFT] = { "lift", "does the lifted program touch nothing?" },
};

const char *tw_check_name(enum tw_check_id id)
{
    return words[id].name;
}

const char *tw_check_question(enum tw_check_id id)
{
    return words[id].question;
}

void tw_check_ask(struct tw_check *check, double limit, const char *unit)
{
    *check = (struct tw_check){ .asked = true, .limit = limit, .unit = unit };
}

const char *tw_band_end_name(const struct tw_verdict *verdict, enum tw_band_end blank)
{
    static const char *const names[TW_BAND_COUNT] = { "as stated", "thickest", "thinnest" };

    return blank == TW_BAND_THICK && verdict->unread_mm > 0.0 ? "highest" : names[blank];
}

/* Amounts this near to each other are alike: the field's cells make as much of a difference. */
#define ALIKE_SHARE 1e-3

void tw_check_join(struct tw_check *check, const struct tw_check *other)
{
    double apart = fabs(check->amount - other->amount);
    bool differ = check->blanks_differ || check->failed != other->failed || apart > ALIKE_SHARE * fabs(check->amount);
    bool worse = other->failed != check->failed ? other->failed
                 : other->limit != check->limit ? other->amount * check->limit > check->amount * other->limit
                                                : other->amount > check->amount;
    double without_K = fmax(check->without_K, other->without_K);

    if (worse)
        *check = *other;
    check->blanks_differ = differ;
    check->without_K = without_K;
}

static void keep_spot(struct tw_check *check, struct tw_spot spot)
{
    check->line = spot.line;
    check->part = spot.part;
    check->has_place = spot.place_mm != NULL;
    if (spot.place_mm)
        memcpy(check->place_mm, spot.place_mm, sizeof check->place_mm);
}

/* True when no fault was found so early in the program. */
static bool fail_at(struct tw_check *check, int line)
{
    bool first = !check->failed || (line > 0 && line < check->first_line);

    if (first)
        check->first_line = line;
    check->failed = true;
    return first;
}

void tw_check_note(struct tw_check *check, double amount, struct tw_spot spot)
{
    if (!check->asked)
        return;
    if (amount > check->limit)
        fail_at(check, spot.line);
    if (!(amount > check->amount)) /* NaN never gets here: nothing notes one */
        return;
    check->amount = amount;
    keep_spot(check, spot);
}

void tw_check_note_own(struct tw_check *check, double amount, double limit, struct tw_spot spot)
{
    if (!check->asked)
        return;
    if (amount > limit)
        fail_at(check, spot.line);
    if (!(amount * check->limit > check->amount * limit))
        return;
    check->amount = amount;
    check->limit = limit;
    keep_spot(check, spot);
}

void tw_check_fault(struct tw_check *check, struct tw_spot spot, const char *format, ...)
{
    va_list arguments;

    if (!check->asked)
        return;
    if (*check->unit == '\0')
        check->amount += 1.0;
    if (!fail_at(check, spot.line))
        return;
    if (*check->unit == '\0')
        keep_spot(check, spot);
    va_start(arguments, format);
    vsnprintf(check->note, sizeof check->note, format, arguments);
    va_end(arguments);
}
