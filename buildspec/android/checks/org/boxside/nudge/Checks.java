package org.boxside.nudge;

import android.app.Notification;
import android.app.PendingIntent;
import android.content.Context;
import android.content.Intent;
import android.net.Uri;
import android.os.ParcelFileDescriptor;
import android.os.SystemClock;
import android.provider.Settings;
import java.io.File;
import java.io.FileNotFoundException;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.time.LocalDateTime;
import java.time.ZoneId;
import java.util.Arrays;
import java.util.TimeZone;
import org.boxside.files.OwnFiles;

/** What the phone's part does with notifications, alarm and files, against stand-ins; run with a folder. */
public final class Checks {
    private static final ZoneId ZONE = ZoneId.of("Europe/Berlin");
    private static int passed;
    private final Context context;

    private Checks(File folder) {
        context = new Context(folder);
        context.resources.known.addAll(Arrays.asList("drawable/ic_nudge", "string/boxside_name",
                "string/boxside_group", "string/boxside_reminders", "string/boxside_late", "string/boxside_open",
                "string/boxside_later"));
    }

    public static void main(String[] args) throws IOException {
        TimeZone.setDefault(TimeZone.getTimeZone(ZONE));
        File root = new File(args[0]);
        fresh(root, "a").postsWhatIsDue();
        fresh(root, "b").survivesWhatIsBroken();
        fresh(root, "c").postsNothingWhereRefused();
        fresh(root, "d").listensToTheSystem();
        fresh(root, "e").lendsItsOwnFilesOnly();
        fresh(root, "f").readsAndWritesJson();
        System.out.println(passed + " passed, 0 failed");
    }

    private static Checks fresh(File root, String name) throws IOException {
        File folder = new File(root, name);
        Files.createDirectories(new File(folder, Nudges.FOLDER).toPath());
        SystemClock.upMs = 0;
        Settings.Global.boots++;
        return new Checks(folder);
    }

    private void postsWhatIsDue() throws IOException {
        plan("2026-05-04", "");
        is(at("12:00"), "", "the plan is read");
        is(0, context.notifications.posted.size(), "nothing before its time");
        is(ms("2026-05-04T18:00"), context.alarms.atMs, "one alarm for the next digest");
        is("broadcast", context.alarms.pending.kind, "the alarm is a broadcast");
        is(NudgeReceiver.class, context.alarms.pending.intent.target, "to our receiver");
        is(true, (context.alarms.pending.flags & PendingIntent.FLAG_IMMUTABLE) != 0, "nobody may change it");
        at("18:20");
        Notification one = context.notifications.shown.get(1);
        is("B01 is due", one.title, "the title");
        is("B01, larvae: feed\nand more", one.bigText, "all lines when it is opened");
        is(Notification.VISIBILITY_PRIVATE, one.visibility, "the lock screen does not show it");
        is("1 box is due", one.publicVersion.text, "but the brief");
        is("Boxside", one.publicVersion.title.toString().replace("string/boxside_name", "Boxside"), "and the name");
        is("reminders", one.channel, "the channel of reminders");
        is(false, one.onlyAlertOnce, "with a sound");
        is(ms("2026-05-05T00:00") - ms("2026-05-04T18:20"), one.timeoutMs, "gone at midnight by itself");
        is("round", one.contentIntent.intent.getStringExtra(Nudges.EXTRA_PLACE), "a tap opens Round");
        is(2, one.actions.size(), "Open and Later");
        is(2, context.notifications.channels.size(), "two channels");
        is("boxside", context.notifications.channels.get("late").group, "in one group");
        at("18:30");
        is(1, context.notifications.posted.size(), "once only");
        Intent press = one.actions.get(1).intent.intent;
        is("2026-05-04.1", press.getStringExtra(Nudges.EXTRA_DIGEST), "Later knows its digest");
        Nudges.run(context, ms("2026-05-04T18:30"), press.getStringExtra(Nudges.EXTRA_DIGEST));
        is(true, context.notifications.shown.isEmpty(), "Later takes it away");
        is(ms("2026-05-04T19:30"), context.alarms.atMs, "and brings it an hour later");
        at("19:30");
        is(2, context.notifications.posted.size(), "again, once");
        plan("2026-05-04", "\"2026-05-04.1\"");
        at("19:40");
        is(true, context.notifications.shown.isEmpty(), "withdrawn when nothing is due");
        is(2, context.notifications.posted.size(), "without another sound");
    }

    private void survivesWhatIsBroken() throws IOException {
        is("there is no plan yet", Nudges.run(context, ms("2026-05-04T12:00"), null), "no plan");
        is(null, context.alarms.atMs, "no alarm");
        for (String text : new String[] {"", "{", "[]", "{\"version\":2}", "null", "{\"version\":1}"}) {
            put(Nudges.PLAN, text);
            is(false, Nudges.run(context, ms("2026-05-04T12:00"), null).isEmpty(), "a broken plan is reported");
        }
        plan("2026-05-04", "");
        put(Nudges.MEMORY, "{\"posted\":");
        is("", at("18:00"), "a lost memory does not stop nudges");
        is(1, context.notifications.posted.size(), "they come");
    }

    private void postsNothingWhereRefused() throws IOException {
        plan("2026-05-04", "");
        context.notifications.allowed = false;
        at("18:00");
        is(0, context.notifications.posted.size(), "refused means none");
        context.notifications.allowed = true;
        at("18:40");
        is(1, context.notifications.posted.size(), "allowed later, within its time: posted");
    }

    private void listensToTheSystem() throws IOException {
        plan("2020-01-01", "");
        for (String action : new String[] {Intent.ACTION_BOOT_COMPLETED, Intent.ACTION_MY_PACKAGE_REPLACED,
                Intent.ACTION_TIME_CHANGED, Intent.ACTION_TIMEZONE_CHANGED}) {
            new File(new File(context.getFilesDir(), Nudges.FOLDER), Nudges.MEMORY).delete();
            new SystemReceiver().onReceive(context, new Intent().setAction(action));
            is(true, remembers(), action + " is heard");
        }
        new File(new File(context.getFilesDir(), Nudges.FOLDER), Nudges.MEMORY).delete();
        new SystemReceiver().onReceive(context, new Intent().setAction("somebody.else"));
        new NudgeReceiver().onReceive(context, new Intent());
        is(false, remembers(), "other broadcasts are not");
        new NudgeReceiver().onReceive(context, new Intent().setAction(Nudges.ACTION_WAKE));
        is(true, remembers(), "the alarm is heard");
    }

    private void lendsItsOwnFilesOnly() throws IOException {
        File lent = new File(context.getCacheDir(), "lent");
        Files.createDirectories(lent.toPath());
        OwnFiles files = new OwnFiles();
        files.context = context;
        ParcelFileDescriptor opened = files.openFile(new Uri("season.zip"), "r");
        is("season.zip", opened.file.getName(), "a file of the folder");
        is("application/zip", files.getType(new Uri("season.ZIP")), "its type");
        for (String name : new String[] {"../secret", "..", "", "a/../../x", "/etc/passwd"}) {
            boolean refused = false;
            try {
                files.openFile(new Uri(name), "r");
            } catch (FileNotFoundException error) {
                refused = true;
            }
            is(true, refused, name + " is not lent");
        }
    }

    private void readsAndWritesJson() {
        String text = "{\"a\":[1,-2.5,true,null,\"\\u00e9\\n\\\"\"],\"b\":{}}";
        is("{\"a\":[1,-2.5,true,null,\"\u00e9\\u000a\\\"\"],\"b\":{}}", Json.write(Json.read(text)), "there and back");
        for (String bad : new String[] {"", "{", "[1,]", "{\"a\"}", "tru", "1 2", "\"a", "\"\\x\"", "[[[[[[[[[[[[[[["
                + "[[[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]", "-", "\"\\u12\""}) {
            boolean refused = false;
            try {
                Json.read(bad);
            } catch (IllegalArgumentException error) {
                refused = true;
            }
            is(true, refused, bad + " is refused");
        }
    }

    private boolean remembers() {
        return new File(new File(context.getFilesDir(), Nudges.FOLDER), Nudges.MEMORY).exists();
    }

    private String at(String clock) {
        return Nudges.run(context, ms("2026-05-04T" + clock), null);
    }

    private static Long ms(String wall) {
        return LocalDateTime.parse(wall).atZone(ZONE).toInstant().toEpochMilli();
    }

    private void plan(String day, String withdraw) throws IOException {
        String digest = withdraw.isEmpty() ? "{\"id\":\"" + day + ".1\",\"slot\":1,\"at\":\"" + day + "T18:00\","
                + "\"until\":\"" + day + "T21:30\",\"title\":\"B01 is due\",\"brief\":\"1 box is due\","
                + "\"lines\":[\"B01, larvae: feed\",\"and more\"],\"boxes\":[\"B01\"],\"n_boxes\":1,"
                + "\"silent\":false}" : "";
        put(Nudges.PLAN, "{\"version\":1,\"made_at\":\"" + day + "T10:00:00+00:00\",\"zone\":\"Europe/Berlin\","
                + "\"quiet\":{\"from\":\"21:30\",\"to\":\"07:00\"},\"digests\":[" + digest + "],\"withdraw\":["
                + withdraw + "],\"forget\":[]}");
    }

    private void put(String name, String text) throws IOException {
        File file = new File(new File(context.getFilesDir(), Nudges.FOLDER), name);
        Files.write(file.toPath(), text.getBytes(StandardCharsets.UTF_8));
    }

    private static void is(Object found, Object wanted, String what) {
        boolean same = found == null ? wanted == null
                : found instanceof Number && wanted instanceof Number
                        ? ((Number) found).longValue() == ((Number) wanted).longValue() : found.equals(wanted);
        if (!same) {
            throw new AssertionError(what + ": wanted " + wanted + ", found " + found);
        }
        passed++;
    }
}
