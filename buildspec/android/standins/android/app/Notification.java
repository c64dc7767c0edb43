package android.app;

import android.content.Context;
import android.graphics.drawable.Icon;
import java.util.ArrayList;
import java.util.List;

/** Keeps what its builder was told. */
public class Notification {
    public static final int VISIBILITY_PRIVATE = 0;
    public static final String CATEGORY_REMINDER = "reminder";
    public String channel;
    public int icon;
    public CharSequence title;
    public CharSequence text;
    public CharSequence bigText;
    public int visibility = 99;
    public Notification publicVersion;
    public String group;
    public boolean onlyAlertOnce;
    public boolean autoCancel;
    public long timeoutMs;
    public PendingIntent contentIntent;
    public final List<Action> actions = new ArrayList<>();

    /** A button. */
    public static class Action {
        public CharSequence title;
        public PendingIntent intent;

        /** Builds it. */
        public static final class Builder {
            private final Action made = new Action();

            public Builder(Icon icon, CharSequence title, PendingIntent intent) {
                made.title = title;
                made.intent = intent;
            }

            public Action build() {
                return made;
            }
        }
    }

    /** How a large one looks. */
    public abstract static class Style {
        CharSequence text;
    }

    /** A large one with text. */
    public static class BigTextStyle extends Style {
        public BigTextStyle bigText(CharSequence text) {
            this.text = text;
            return this;
        }
    }

    /** Builds it. */
    public static class Builder {
        private final Notification made = new Notification();

        public Builder(Context context, String channel) {
            made.channel = channel;
        }

        public Builder setSmallIcon(int icon) {
            made.icon = icon;
            return this;
        }

        public Builder setContentTitle(CharSequence title) {
            made.title = title;
            return this;
        }

        public Builder setContentText(CharSequence text) {
            made.text = text;
            return this;
        }

        public Builder setStyle(Style style) {
            made.bigText = style.text;
            return this;
        }

        public Builder setVisibility(int visibility) {
            made.visibility = visibility;
            return this;
        }

        public Builder setPublicVersion(Notification one) {
            made.publicVersion = one;
            return this;
        }

        public Builder setCategory(String category) {
            return this;
        }

        public Builder setGroup(String group) {
            made.group = group;
            return this;
        }

        public Builder setOnlyAlertOnce(boolean once) {
            made.onlyAlertOnce = once;
            return this;
        }

        public Builder setAutoCancel(boolean auto) {
            made.autoCancel = auto;
            return this;
        }

        public Builder setTimeoutAfter(long ms) {
            made.timeoutMs = ms;
            return this;
        }

        public Builder setContentIntent(PendingIntent intent) {
            made.contentIntent = intent;
            return this;
        }

        public Builder addAction(Action action) {
            made.actions.add(action);
            return this;
        }

        public Notification build() {
            if (made.icon == 0) {
                throw new IllegalStateException("a notification without a small icon is refused by Android");
            }
            return made;
        }
    }
}
