package android.content;

/** Is told of broadcasts. */
public abstract class BroadcastReceiver {
    public abstract void onReceive(Context context, Intent intent);
}
