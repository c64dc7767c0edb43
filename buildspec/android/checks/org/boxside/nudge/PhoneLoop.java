package org.boxside.nudge;

import java.io.BufferedReader;
import java.io.IOException;
import java.io.InputStreamReader;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.time.ZoneId;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/** A phone in a loop: one JSON command a line (see buildspec/receiver.py), one JSON answer a line. */
public final class PhoneLoop {
    private Plan plan;
    private Memory memory = new Memory();

    private PhoneLoop() {}

    public static void main(String[] args) throws IOException {
        BufferedReader in = new BufferedReader(new InputStreamReader(System.in, StandardCharsets.UTF_8));
        PrintStream out = new PrintStream(System.out, false, "UTF-8");
        PhoneLoop phone = new PhoneLoop();
        for (String line = in.readLine(); line != null; line = in.readLine()) {
            Map<?, ?> asked = (Map<?, ?>) Json.read(line);
            out.println(Json.write(phone.answer(asked)));
            out.flush();
        }
    }

    private Map<String, Object> answer(Map<?, ?> asked) {
        if (Boolean.TRUE.equals(asked.get("fresh"))) {
            plan = null;
            memory = new Memory();
        }
        if (asked.get("plan") != null) {
            plan = Plan.read((String) asked.get("plan"));
        }
        for (Object slot : (List<?>) asked.get("swiped")) {
            for (String digest : new ArrayList<>(memory.posted.keySet())) {
                if (digest.endsWith("." + slot)) {
                    memory.takeAway(digest);
                }
            }
        }
        long nowMs = (Long) asked.get("now");
        if (asked.get("later") != null) {
            Decision.putOff(memory, (String) asked.get("later"), nowMs);
        }
        Decision.Moment now = new Decision.Moment(
                nowMs, ZoneId.of((String) asked.get("zone")), (Long) asked.get("boot"), (Long) asked.get("up"));
        // Written and read again between any two commands, as between any two receivers.
        memory = Memory.read(memory.write());
        Decision made = Decision.of(plan, memory, now, (Boolean) asked.get("allowed"));
        Map<String, Object> said = new LinkedHashMap<>();
        said.put("post", ids(made.post));
        said.put("replace", ids(made.replace));
        said.put("cancel", new ArrayList<Object>(made.cancel));
        said.put("next", made.nextMs == Decision.NEVER ? null : (Object) made.nextMs);
        said.put("memory", memory.write());
        return said;
    }

    private static List<Object> ids(List<Plan.Digest> from) {
        List<Object> found = new ArrayList<>();
        for (Plan.Digest one : from) {
            found.add(one.id);
        }
        return found;
    }
}
