/* box_tar.c - the members of a tar, without unpacking it (box.h).
 *
 * A bundle's tar has regular files in one folder; tars made anew from an unpacked bundle may
 * have entries for folders, "./" before the names, and more zeros at the end. Anything beyond
 * that is a finding: it could be read in two ways.
 */
#include <stdint.h>
#include <string.h>

#include "base/log.h"
#include "evidence/box_private.h"
#include "evidence/ustar.h"

struct tape {
    struct box *box;
    struct findings *findings;
    const uint8_t *at;
    size_t left;
    char top[USTAR_NAME]; /* the folder of the first member, with its '/' */
    bool begun;
};

static bool all_zero(const uint8_t *at, size_t len)
{
    while (len > 0 && *at == 0) {
        at++;
        len--;
    }
    return len == 0;
}

static void damaged(const struct tape *t, const char *name, const char *what)
{
    findings_add(t->findings, FINDING_FORM, "", name, "the tar is damaged at byte %zu: %s",
                 t->box->map_len - t->left, what);
}

/* The name of a member within the bundle, or NULL for a member outside its folder. */
static const char *inside(struct tape *t, const char *name)
{
    if (strncmp(name, "./", 2) == 0)
        name += 2;
    if (!t->begun) {
        const char *slash = strchr(name, '/');
        size_t len = slash == NULL ? 0 : (size_t)(slash - name) + 1;
        /* A bundle packed without its folder begins with a file of its own. */
        if (len == 11 && name[4] == '-' && name[7] == '-')
            len = 0;
        memcpy(t->top, name, len);
        t->top[len] = '\0';
        t->begun = true;
    }
    size_t len = strlen(t->top);
    return strncmp(name, t->top, len) == 0 ? name + len : NULL;
}

/* A member whose header lies at t->at; false at the end of what can be read. */
static bool take(struct tape *t, enum ustar_kind kind, const char *member, uint64_t size,
                 enum rc *rc)
{
    size_t room = t->left - USTAR_BLOCK;
    if (size > room) {
        damaged(t, member, "it ends within this file");
        return false;
    }
    size_t over = (USTAR_BLOCK - (size_t)size % USTAR_BLOCK) % USTAR_BLOCK;
    const char *name = kind == USTAR_FILE || t->begun ? inside(t, member) : NULL;
    const struct box_item item = {.data = (const char *)t->at + USTAR_BLOCK,
                                  .len = (size_t)size};
    if (kind == USTAR_FILE && name == NULL)
        damaged(t, member, "this file lies outside the bundle's folder");
    else if (kind == USTAR_FILE)
        *rc = box_add(t->box, name, &item);
    if (over > room - size || !all_zero(t->at + USTAR_BLOCK + size, over)) {
        damaged(t, member, "what fills up the last block of this file is not zeros");
        if (over > room - size)
            return false;
    }
    t->at += USTAR_BLOCK + size + over;
    t->left -= USTAR_BLOCK + (size_t)size + over;
    return *rc == RC_OK;
}

/* Whether this is a tar at all, damaged or not. */
static bool looks_like(const struct box *box)
{
    const uint8_t *first = box->map;
    size_t end = 2 * (size_t)USTAR_BLOCK;
    return box->map_len >= end &&
           (memcmp(first + 257, "ustar", 5) == 0 || all_zero(first + box->map_len - end, end));
}

/* Over what is no header to the next that is one, or to the end. */
static void skip_damage(struct tape *t, char name[USTAR_NAME], uint64_t *size)
{
    damaged(t, "", "here should be the next file, or the end");
    while (t->left >= USTAR_BLOCK && ustar_read(t->at, name, size) != USTAR_FILE &&
           !all_zero(t->at, t->left)) {
        t->at += USTAR_BLOCK;
        t->left -= USTAR_BLOCK;
    }
}

enum rc box_fill_from_tar(struct box *box, struct findings *findings)
{
    struct tape t = {.box = box, .findings = findings, .at = box->map, .left = box->map_len};
    enum rc rc = RC_OK;
    if (!looks_like(box)) {
        log_err("%s is not a tar in ustar format; unpack it, and name the folder", box->path);
        return RC_BAD_INPUT;
    }
    while (t.left >= USTAR_BLOCK) {
        char name[USTAR_NAME];
        uint64_t size = 0;
        enum ustar_kind kind = ustar_read(t.at, name, &size);
        if (kind == USTAR_END && all_zero(t.at, t.left)) {
            if (t.left < 2 * (size_t)USTAR_BLOCK)
                damaged(&t, "", "it has no end");
            return RC_OK;
        }
        if (kind != USTAR_FILE && kind != USTAR_FOLDER)
            skip_damage(&t, name, &size);
        else if (!take(&t, kind, name, size, &rc))
            return rc;
    }
    damaged(&t, "", "it has no end");
    return RC_OK;
}
