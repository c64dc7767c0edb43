package org.boxside.nudge;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;

/** What the phone has posted and what was put off with Later; Python reads it before it plans again. */
final class Memory {
    /** A digest that was posted: when, and whether it still shows. */
    static final class Posted {
        final long atMs;
        final boolean showing;

        Posted(long atMs, boolean showing) {
            this.atMs = atMs;
            this.showing = showing;
        }
    }

    /** Later on a digest: when it was pressed, and by how many minutes it comes later. */
    static final class Later {
        final String digest;
        final long askedMs;
        final int minutes;

        Later(String digest, long askedMs, int minutes) {
            this.digest = digest;
            this.askedMs = askedMs;
            this.minutes = minutes;
        }
    }

    /** The mark of the plan whose withdrawals were done last. */
    String applied = "";
    final TreeMap<String, Posted> posted = new TreeMap<>();
    /** When a digest was posted last by the phone's own running time, as {boot, ms}; no clock changes that. */
    final TreeMap<String, long[]> raised = new TreeMap<>();
    final List<Later> later = new ArrayList<>();

    /** Returns the memory in a text; an empty one where the text is empty. */
    static Memory read(String text) {
        Memory memory = new Memory();
        if (text.isEmpty()) {
            return memory;
        }
        try {
            Map<?, ?> whole = (Map<?, ?>) Json.read(text);
            memory.applied = (String) whole.get("applied");
            for (Object one : (List<?>) whole.get("posted")) {
                Map<?, ?> said = (Map<?, ?>) one;
                memory.posted.put((String) said.get("digest"),
                        new Posted((Long) said.get("at_ms"), (Boolean) said.get("showing")));
            }
            for (Map.Entry<?, ?> one : ((Map<?, ?>) whole.get("raised")).entrySet()) {
                List<?> at = (List<?>) one.getValue();
                memory.raised.put((String) one.getKey(), new long[] {(Long) at.get(0), (Long) at.get(1)});
            }
            for (Object one : (List<?>) whole.get("later")) {
                Map<?, ?> said = (Map<?, ?>) one;
                memory.later.add(new Later((String) said.get("digest"), (Long) said.get("asked_ms"),
                        ((Long) said.get("minutes")).intValue()));
            }
        } catch (ClassCastException | NullPointerException | IndexOutOfBoundsException error) {
            throw new IllegalArgumentException("the memory is not as it was written", error);
        }
        return memory;
    }

    /** Returns the memory as a text. */
    String write() {
        List<Object> ones = new ArrayList<>();
        for (Map.Entry<String, Posted> one : posted.entrySet()) {
            Map<String, Object> said = new LinkedHashMap<>();
            said.put("digest", one.getKey());
            said.put("at_ms", one.getValue().atMs);
            said.put("showing", one.getValue().showing);
            ones.add(said);
        }
        List<Object> moves = new ArrayList<>();
        for (Later one : later) {
            Map<String, Object> said = new LinkedHashMap<>();
            said.put("digest", one.digest);
            said.put("asked_ms", one.askedMs);
            said.put("minutes", one.minutes);
            moves.add(said);
        }
        Map<String, Object> whole = new LinkedHashMap<>();
        whole.put("version", 1L);
        whole.put("applied", applied == null ? "" : applied);
        whole.put("posted", ones);
        Map<String, Object> ups = new LinkedHashMap<>();
        for (Map.Entry<String, long[]> one : raised.entrySet()) {
            ups.put(one.getKey(), Arrays.asList((Object) one.getValue()[0], one.getValue()[1]));
        }
        whole.put("raised", ups);
        whole.put("later", moves);
        return Json.write(whole);
    }

    /** Returns the latest Later on a digest, or null. */
    Later laterOf(String digest) {
        Later found = null;
        for (Later one : later) {
            boolean isLater = found == null || one.askedMs > found.askedMs
                    || one.askedMs == found.askedMs && one.minutes > found.minutes;
            if (one.digest.equals(digest) && isLater) {
                found = one;
            }
        }
        return found;
    }

    /** Returns whether a digest was put off and has not come again since. */
    boolean isPutOff(String digest) {
        Later move = laterOf(digest);
        Posted last = posted.get(digest);
        return move != null && (last == null || last.atMs < move.askedMs);
    }

    /** Returns how often a digest was posted; each Later stands for a post that was forgotten. */
    int timesPosted(String digest) {
        int moves = 0;
        for (Later one : later) {
            moves += one.digest.equals(digest) ? 1 : 0;
        }
        int times = posted.containsKey(digest) ? 1 : 0;
        int again = times > 0 && moves > 0 && !isPutOff(digest) ? 1 : 0;
        return Math.max(times, moves + again);
    }

    /** Returns whether a digest was posted within a time of the phone's running, whatever its clock says. */
    boolean isRaisedWithin(String digest, long boot, long upMs, long withinMs) {
        long[] at = raised.get(digest);
        return at != null && at[0] == boot && upMs - at[1] < withinMs;
    }

    /** Marks a digest as taken away. */
    void takeAway(String digest) {
        Posted one = posted.get(digest);
        if (one != null && one.showing) {
            posted.put(digest, new Posted(one.atMs, false));
        }
    }
}
