package org.boxside.nudge;

import java.time.Instant;
import java.time.LocalDate;
import java.time.LocalDateTime;
import java.time.ZoneId;
import java.util.ArrayList;
import java.util.Iterator;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;

/**
 * What to post, replace and take away now, and when to look again; no Android types, no clock, no files.
 *
 * <p>buildspec/receiver.py is its twin in Python; both are held to the plans in shared/golden.
 */
final class Decision {
    static final int LATER_MINUTES = 60;
    static final long NEVER = Long.MAX_VALUE;
    private static final int MOST_A_DAY = 3;
    private static final int SLOTS = 3;
    private static final int DAY_MINUTES = 24 * 60;
    private static final int GRACE_MINUTES = 12 * 60;
    private static final long MINUTE_MS = 60_000;
    private static final long APART_MS = 20 * 60 * MINUTE_MS;
    private static final int KEPT = 40;

    final List<Plan.Digest> post = new ArrayList<>();
    final List<Plan.Digest> replace = new ArrayList<>();
    final Set<Integer> cancel = new TreeSet<>();
    long nextMs = NEVER;

    private final Plan plan;
    private final Memory memory;
    private final long nowMs;
    private final long boot;
    private final long upMs;
    private final ZoneId zone;
    private final LocalDateTime wall;

    private Decision(Plan plan, Memory memory, Moment now) {
        this.plan = plan;
        this.memory = memory;
        this.nowMs = now.ms;
        this.boot = now.boot;
        this.upMs = now.upMs;
        this.zone = now.zone;
        this.wall = wallOf(nowMs);
    }

    /** Now: by the clock, which may be wrong, and by the time since the phone was started, which is not. */
    static final class Moment {
        final long ms;
        final ZoneId zone;
        final long boot;
        final long upMs;

        Moment(long ms, ZoneId zone, long boot, long upMs) {
            this.ms = ms;
            this.zone = zone;
            this.boot = boot;
            this.upMs = upMs;
        }
    }

    /**
     * Decides, and notes in the memory what is done.
     *
     * @param allowed whether notifications are allowed; where not, nothing is posted nor noted as posted
     */
    static Decision of(Plan plan, Memory memory, Moment now, boolean allowed) {
        Decision made = new Decision(plan, memory, now);
        boolean isNew = !plan.mark.equals(memory.applied);
        if (isNew) {
            made.applyOnce();
        }
        made.forgetUnreal();
        made.forgetUnrealLater();
        for (Plan.Digest one : plan.digests) {
            made.consider(one, isNew, allowed);
        }
        made.prune();
        return made;
    }

    /** Notes that a digest was put off; returns whether it was there to be put off. */
    static boolean putOff(Memory memory, String digest, long nowMs) {
        if (!memory.posted.containsKey(digest)) {
            return false;
        }
        memory.later.add(new Memory.Later(digest, nowMs, LATER_MINUTES));
        memory.takeAway(digest);
        return true;
    }

    private void applyOnce() {
        for (String digest : plan.forget) {
            clear(digest);
            memory.posted.remove(digest);
        }
        for (String digest : plan.withdraw) {
            clear(digest);
        }
        memory.applied = plan.mark;
    }

    private void clear(String digest) {
        Memory.Posted one = memory.posted.get(digest);
        if (one != null && one.showing) {
            cancel.add(slotOf(digest));
            memory.takeAway(digest);
        }
    }

    /** A wrong clock posted a day that is still to come: it has to be able to come on its day. */
    private void forgetUnreal() {
        Iterator<Map.Entry<String, Memory.Posted>> all = memory.posted.entrySet().iterator();
        while (all.hasNext()) {
            Map.Entry<String, Memory.Posted> one = all.next();
            LocalDate day = dayOf(one.getKey());
            boolean unreal = day.isAfter(wall.toLocalDate()) && one.getValue().atMs > nowMs;
            boolean longAgo = !day.isBefore(wall.toLocalDate()) && one.getValue().atMs <= nowMs - APART_MS;
            if (unreal || longAgo) {
                if (one.getValue().showing) {
                    cancel.add(slotOf(one.getKey()));
                }
                all.remove();
            }
        }
    }

    /** The same for Later: pressed by a wrong clock, it would move what comes on its day to a time that is past. */
    private void forgetUnrealLater() {
        memory.later.removeIf(one -> dayOf(one.digest).isAfter(wall.toLocalDate()) && one.askedMs > nowMs);
    }

    private void consider(Plan.Digest one, boolean isNew, boolean allowed) {
        boolean isPutOff = memory.isPutOff(one.id);
        Memory.Posted last = memory.posted.get(one.id);
        if (one.silent && !isPutOff) {
            if (isNew && allowed && last != null && last.showing) {
                replace.add(one);
            }
            return;
        }
        if (last != null && !isPutOff || timesOnDay(dayOf(one.id)) >= MOST_A_DAY) {
            return;
        }
        LocalDateTime at = isPutOff ? askedAt(one.id) : LocalDateTime.parse(one.at);
        if (at == null) {
            return;
        }
        LocalDateTime until = isPutOff ? lapse(at) : LocalDateTime.parse(one.until);
        long atMs = at.atZone(zone).toInstant().toEpochMilli();
        if (atMs > nowMs) {
            nextMs = Math.min(nextMs, atMs);
        }
        // By the moment, not by the wall: where clocks went back meanwhile, the wall shows a time before it again.
        boolean isTime = atMs <= nowMs && wall.isBefore(until) && !isQuiet(minuteOf(wall));
        boolean isJustUp = !isPutOff && memory.isRaisedWithin(one.id, boot, upMs, APART_MS);
        if (allowed && isTime && !isJustUp) {
            post(one);
        }
    }

    private void post(Plan.Digest one) {
        for (String digest : new ArrayList<>(memory.posted.keySet())) {
            if (slotOf(digest) == one.slot) {
                memory.takeAway(digest);
            }
        }
        memory.posted.put(one.id, new Memory.Posted(nowMs, true));
        memory.raised.put(one.id, new long[] {boot, upMs});
        cancel.remove(one.slot);
        post.add(one);
    }

    private int timesOnDay(LocalDate day) {
        int times = 0;
        for (int slot = 1; slot <= SLOTS; slot++) {
            times += memory.timesPosted(day + "." + slot);
        }
        return times;
    }

    /** Returns when a digest comes again after Later; null if no more on its day. */
    private LocalDateTime askedAt(String digest) {
        Memory.Later move = memory.laterOf(digest);
        LocalDateTime at = wallOf((move.askedMs / MINUTE_MS + move.minutes) * MINUTE_MS);
        if (isQuiet(minuteOf(at)) && minute(plan.quietTo) > minuteOf(at)) {
            LocalDateTime end = at.toLocalDate().atTime(minute(plan.quietTo) / 60, minute(plan.quietTo) % 60);
            at = wallOf(end.atZone(zone).toInstant().toEpochMilli());
        }
        return at.toLocalDate().equals(dayOf(digest)) && !isQuiet(minuteOf(at)) ? at : null;
    }

    /** Returns from when a late phone no longer posts: midnight, the grace time, or the quiet hours. */
    private LocalDateTime lapse(LocalDateTime at) {
        int end = Math.min(DAY_MINUTES, minuteOf(at) + GRACE_MINUTES);
        int from = minute(plan.quietFrom);
        if (from != minute(plan.quietTo) && from > minuteOf(at)) {
            end = Math.min(end, from);
        }
        return at.toLocalDate().atStartOfDay().plusMinutes(end);
    }

    private boolean isQuiet(int minute) {
        int from = minute(plan.quietFrom);
        int to = minute(plan.quietTo);
        return from <= to ? from <= minute && minute < to : minute >= from || minute < to;
    }

    private LocalDateTime wallOf(long ms) {
        LocalDateTime exact = LocalDateTime.ofInstant(Instant.ofEpochMilli(ms), zone);
        return exact.withSecond(0).withNano(0);
    }

    /** Keeps the last ones by number, not by age: a clock that is wrong for an hour must not lose today. */
    private void prune() {
        while (memory.posted.size() > KEPT) {
            memory.posted.remove(memory.posted.firstKey());
        }
        while (memory.raised.size() > KEPT) {
            memory.raised.remove(memory.raised.firstKey());
        }
        while (memory.later.size() > KEPT) {
            memory.later.remove(0);
        }
    }

    private static LocalDate dayOf(String digest) {
        return LocalDate.parse(digest.substring(0, 10));
    }

    private static int slotOf(String digest) {
        return digest.charAt(digest.length() - 1) - '0';
    }

    private static int minuteOf(LocalDateTime at) {
        return at.getHour() * 60 + at.getMinute();
    }

    private static int minute(String clock) {
        return Integer.parseInt(clock.substring(0, 2)) * 60 + Integer.parseInt(clock.substring(3));
    }
}
