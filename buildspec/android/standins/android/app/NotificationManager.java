package android.app;

import android.service.notification.StatusBarNotification;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;

/** Keeps what shows, and what was ever posted. */
public class NotificationManager {
    public static final int IMPORTANCE_DEFAULT = 3;
    public boolean allowed = true;
    public final Map<Integer, Notification> shown = new TreeMap<>();
    public final List<Notification> posted = new ArrayList<>();
    public final Map<String, NotificationChannel> channels = new TreeMap<>();
    public final List<NotificationChannelGroup> groups = new ArrayList<>();

    public boolean areNotificationsEnabled() {
        return allowed;
    }

    public void notify(int id, Notification one) {
        if (!channels.containsKey(one.channel)) {
            throw new IllegalStateException("no channel " + one.channel);
        }
        shown.put(id, one);
        posted.add(one);
    }

    public void cancel(int id) {
        shown.remove(id);
    }

    public void createNotificationChannel(NotificationChannel channel) {
        channels.put(channel.id, channel);
    }

    public void createNotificationChannelGroup(NotificationChannelGroup group) {
        groups.add(group);
    }

    public StatusBarNotification[] getActiveNotifications() {
        List<StatusBarNotification> found = new ArrayList<>();
        for (int id : shown.keySet()) {
            found.add(new StatusBarNotification(id));
        }
        return found.toArray(new StatusBarNotification[0]);
    }
}
