package org.boxside.nudge;

import android.app.AlarmManager;
import android.app.Notification;
import android.app.NotificationChannel;
import android.app.NotificationChannelGroup;
import android.app.NotificationManager;
import android.app.PendingIntent;
import android.content.Context;
import android.content.Intent;
import android.graphics.drawable.Icon;
import android.os.SystemClock;
import android.provider.Settings;
import android.service.notification.StatusBarNotification;
import android.util.Log;
import java.io.File;
import java.io.FileOutputStream;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.StandardCopyOption;
import java.time.Instant;
import java.time.LocalDate;
import java.time.ZoneId;
import java.util.HashSet;
import java.util.Set;

/**
 * Does on the phone what {@link Decision} decides: notifications, and one alarm for the next of them.
 *
 * <p>Python writes {@code boxside-nudges/plan.json} below the app's private files and calls {@link #sync}; receivers
 * call the same. Python is never started from here.
 */
public final class Nudges {
    /** Below getFilesDir(), beside files/app, which every update of the app deletes. */
    static final String FOLDER = "boxside-nudges";
    static final String PLAN = "plan.json";
    static final String MEMORY = "memory.json";
    static final String GROUP = "boxside";
    static final String REMINDERS = "reminders";
    static final String LATE = "late";
    static final String ACTION_WAKE = "org.boxside.nudge.WAKE";
    static final String ACTION_LATER = "org.boxside.nudge.LATER";
    static final String ACTION_ROUND = "org.boxside.nudge.ROUND";
    static final String EXTRA_DIGEST = "org.boxside.nudge.digest";
    /** What Python reads to know where to go. */
    static final String EXTRA_PLACE = "boxside_place";
    private static final String TAG = "boxside";
    private static final int FLAGS = PendingIntent.FLAG_UPDATE_CURRENT | PendingIntent.FLAG_IMMUTABLE;

    private Nudges() {}

    /** Reads the plan anew, posts what is due, arms the next alarm. Returns an empty text, or what is wrong. */
    public static synchronized String sync(Context context) {
        return run(context, System.currentTimeMillis(), null);
    }

    /** The same after Later was pressed on a digest. */
    static synchronized String later(Context context, String digest) {
        return run(context, System.currentTimeMillis(), digest);
    }

    /** Returns whether the person lets Boxside post at all. */
    public static boolean areAllowed(Context context) {
        return notifications(context).areNotificationsEnabled();
    }

    static synchronized String run(Context context, long nowMs, String putOff) {
        try {
            Plan plan = Plan.read(text(context, PLAN));
            Memory memory = remembered(context);
            noteWhatShows(context, memory);
            if (putOff != null && Decision.putOff(memory, putOff, nowMs)) {
                notifications(context).cancel(putOff.charAt(putOff.length() - 1) - '0');
            }
            Decision made = Decision.of(plan, memory, moment(context, nowMs), areAllowed(context));
            // Written before anything is posted: a kill in between loses one nudge rather than posting it twice.
            write(context, MEMORY, memory.write());
            show(context, made, nowMs);
            arm(context, made.nextMs);
            return "";
        } catch (IllegalArgumentException | IOException error) {
            Log.w(TAG, "no nudges: " + error.getMessage());
            arm(context, Decision.NEVER);
            return String.valueOf(error.getMessage());
        }
    }

    private static Decision.Moment moment(Context context, long nowMs) {
        long boot = Settings.Global.getInt(context.getContentResolver(), Settings.Global.BOOT_COUNT, 0);
        return new Decision.Moment(nowMs, ZoneId.systemDefault(), boot, SystemClock.elapsedRealtime());
    }

    private static Memory remembered(Context context) throws IOException {
        try {
            return Memory.read(text(context, MEMORY));
        } catch (IllegalArgumentException error) {
            // Starting anew may post one nudge again; having none for ever would be worse.
            Log.w(TAG, "memory of nudges lost: " + error.getMessage());
            return new Memory();
        }
    }

    /** What the person swiped away, or a reboot took, shows no more. */
    private static void noteWhatShows(Context context, Memory memory) {
        Set<Integer> shown = new HashSet<>();
        for (StatusBarNotification one : notifications(context).getActiveNotifications()) {
            shown.add(one.getId());
        }
        for (String digest : memory.posted.keySet().toArray(new String[0])) {
            if (!shown.contains(digest.charAt(digest.length() - 1) - '0')) {
                memory.takeAway(digest);
            }
        }
    }

    private static void show(Context context, Decision made, long nowMs) {
        NotificationManager manager = notifications(context);
        for (int slot : made.cancel) {
            manager.cancel(slot);
        }
        if (made.post.isEmpty() && made.replace.isEmpty()) {
            return;
        }
        makeChannels(context, manager);
        for (Plan.Digest one : made.replace) {
            manager.notify(one.slot, notification(context, one, nowMs, true));
        }
        for (Plan.Digest one : made.post) {
            manager.notify(one.slot, notification(context, one, nowMs, false));
        }
    }

    private static void makeChannels(Context context, NotificationManager manager) {
        manager.createNotificationChannelGroup(new NotificationChannelGroup(GROUP, word(context, "boxside_group")));
        String[][] channels = {{REMINDERS, "boxside_reminders"}, {LATE, "boxside_late"}};
        for (String[] one : channels) {
            NotificationChannel channel =
                    new NotificationChannel(one[0], word(context, one[1]), NotificationManager.IMPORTANCE_DEFAULT);
            channel.setGroup(GROUP);
            channel.setLockscreenVisibility(Notification.VISIBILITY_PRIVATE);
            manager.createNotificationChannel(channel);
        }
    }

    private static Notification notification(Context context, Plan.Digest one, long nowMs, boolean silent) {
        // The first digest of a day is the reminder; further ones repeat what is late.
        String channel = one.slot == 1 ? REMINDERS : LATE;
        int icon = resource(context, "ic_nudge", "drawable");
        Notification onLockScreen = new Notification.Builder(context, channel)
                .setSmallIcon(icon)
                .setContentTitle(word(context, "boxside_name"))
                .setContentText(one.brief)
                .build();
        String lines = String.join("\n", one.lines);
        PendingIntent open = openRound(context, one);
        return new Notification.Builder(context, channel)
                .setSmallIcon(icon)
                .setContentTitle(one.title)
                .setContentText(one.lines.get(0))
                .setStyle(new Notification.BigTextStyle().bigText(lines))
                .setVisibility(Notification.VISIBILITY_PRIVATE)
                .setPublicVersion(onLockScreen)
                .setCategory(Notification.CATEGORY_REMINDER)
                .setGroup(GROUP)
                .setOnlyAlertOnce(silent)
                .setAutoCancel(true)
                .setTimeoutAfter(untilMidnight(nowMs))
                .setContentIntent(open)
                .addAction(action(context, "boxside_open", open))
                .addAction(action(context, "boxside_later", later(context, one)))
                .build();
    }

    private static Notification.Action action(Context context, String word, PendingIntent intent) {
        Icon icon = Icon.createWithResource(context, resource(context, "ic_nudge", "drawable"));
        return new Notification.Action.Builder(icon, word(context, word), intent).build();
    }

    /** A digest is of its day: it goes by itself at midnight. */
    private static long untilMidnight(long nowMs) {
        ZoneId zone = ZoneId.systemDefault();
        LocalDate day = Instant.ofEpochMilli(nowMs).atZone(zone).toLocalDate();
        return Math.max(1, day.plusDays(1).atStartOfDay(zone).toInstant().toEpochMilli() - nowMs);
    }

    private static PendingIntent openRound(Context context, Plan.Digest one) {
        Intent open = context.getPackageManager().getLaunchIntentForPackage(context.getPackageName());
        open.setAction(ACTION_ROUND).putExtra(EXTRA_PLACE, "round");
        return PendingIntent.getActivity(context, one.slot, open, FLAGS);
    }

    private static PendingIntent later(Context context, Plan.Digest one) {
        Intent press = new Intent(context, NudgeReceiver.class)
                .setAction(ACTION_LATER).putExtra(EXTRA_DIGEST, one.id);
        return PendingIntent.getBroadcast(context, one.slot, press, FLAGS);
    }

    private static void arm(Context context, long atMs) {
        AlarmManager alarms = (AlarmManager) context.getSystemService(Context.ALARM_SERVICE);
        Intent wake = new Intent(context, NudgeReceiver.class).setAction(ACTION_WAKE);
        PendingIntent pending = PendingIntent.getBroadcast(context, 0, wake, FLAGS);
        if (atMs == Decision.NEVER) {
            alarms.cancel(pending);
        } else {
            // Needs no permission; comes in Doze too, up to about an hour late, which a digest of a day can bear.
            alarms.setAndAllowWhileIdle(AlarmManager.RTC_WAKEUP, atMs, pending);
        }
    }

    private static NotificationManager notifications(Context context) {
        return (NotificationManager) context.getSystemService(Context.NOTIFICATION_SERVICE);
    }

    private static String word(Context context, String name) {
        return context.getString(resource(context, name, "string"));
    }

    private static int resource(Context context, String name, String kind) {
        return context.getResources().getIdentifier(name, kind, context.getPackageName());
    }

    private static String text(Context context, String name) throws IOException {
        File file = new File(new File(context.getFilesDir(), FOLDER), name);
        if (!file.exists()) {
            if (name.equals(MEMORY)) {
                return "";
            }
            throw new IOException("there is no plan yet");
        }
        return new String(Files.readAllBytes(file.toPath()), StandardCharsets.UTF_8);
    }

    private static void write(Context context, String name, String text) throws IOException {
        File folder = new File(context.getFilesDir(), FOLDER);
        File fresh = new File(folder, name + ".new");
        try (FileOutputStream out = new FileOutputStream(fresh)) {
            out.write(text.getBytes(StandardCharsets.UTF_8));
            out.getFD().sync();
        }
        Files.move(fresh.toPath(), new File(folder, name).toPath(),
                StandardCopyOption.REPLACE_EXISTING, StandardCopyOption.ATOMIC_MOVE);
    }
}
