package org.boxside.nudge;

import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.zip.CRC32;

/** A plan of dated digests as shared/nudge-plan.schema.json describes it. */
final class Plan {
    private static final long VERSION = 1;

    /** One digest: when it may be posted and what it says. */
    static final class Digest {
        final String id;
        final int slot;
        final String at;
        final String until;
        final String title;
        final String brief;
        final List<String> lines;
        final boolean silent;

        private Digest(Map<?, ?> one) {
            id = matching(one, "id", "\\d{4}-\\d{2}-\\d{2}\\.[1-3]");
            slot = ((Long) one.get("slot")).intValue();
            at = matching(one, "at", "\\d{4}-\\d{2}-\\d{2}T\\d{2}:\\d{2}");
            until = matching(one, "until", "\\d{4}-\\d{2}-\\d{2}T\\d{2}:\\d{2}");
            title = matching(one, "title", "(?s).+");
            brief = matching(one, "brief", "(?s).+");
            lines = strings(one, "lines");
            silent = (Boolean) one.get("silent");
        }
    }

    /** Tells this plan from others, so that what it withdraws and forgets is done once. */
    final String mark;
    final String quietFrom;
    final String quietTo;
    final List<Digest> digests = new ArrayList<>();
    final List<String> withdraw;
    final List<String> forget;

    private Plan(Map<?, ?> whole, String mark) {
        if (!Long.valueOf(VERSION).equals(whole.get("version"))) {
            throw new IllegalArgumentException("the plan is of version " + whole.get("version"));
        }
        this.mark = mark;
        Map<?, ?> quiet = (Map<?, ?>) whole.get("quiet");
        quietFrom = matching(quiet, "from", "\\d{2}:\\d{2}");
        quietTo = matching(quiet, "to", "\\d{2}:\\d{2}");
        for (Object one : (List<?>) whole.get("digests")) {
            digests.add(new Digest((Map<?, ?>) one));
        }
        withdraw = strings(whole, "withdraw");
        forget = strings(whole, "forget");
    }

    /** Returns the plan in a text; IllegalArgumentException, with the reason, where it is none. */
    static Plan read(String text) {
        try {
            return new Plan((Map<?, ?>) Json.read(text), markOf(text));
        } catch (ClassCastException | NullPointerException error) {
            throw new IllegalArgumentException("the plan is not as its schema says", error);
        }
    }

    private static String markOf(String text) {
        byte[] bytes = text.getBytes(StandardCharsets.UTF_8);
        CRC32 sum = new CRC32();
        sum.update(bytes, 0, bytes.length);
        return String.format(Locale.ROOT, "%08x-%d", sum.getValue(), bytes.length);
    }

    private static String matching(Map<?, ?> from, String name, String pattern) {
        String found = (String) from.get(name);
        if (!found.matches(pattern)) {
            throw new IllegalArgumentException(name + " of the plan reads " + found);
        }
        return found;
    }

    private static List<String> strings(Map<?, ?> from, String name) {
        List<String> found = new ArrayList<>();
        for (Object one : (List<?>) from.get(name)) {
            found.add((String) one);
        }
        return found;
    }
}
