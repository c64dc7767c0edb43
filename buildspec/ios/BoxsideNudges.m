// Asks the person whether Boxside may notify; the system itself shows the question once only. It is Objective-C since
// the answer comes to a block, which pyobjus does not make. To be added to the Xcode project; never compiled so far.
#import <Foundation/Foundation.h>
#import <UserNotifications/UserNotifications.h>

@interface BoxsideNudges : NSObject
+ (void)ask;
@end

@implementation BoxsideNudges

+ (void)ask {
    UNAuthorizationOptions options = UNAuthorizationOptionAlert | UNAuthorizationOptionSound;
    [[UNUserNotificationCenter currentNotificationCenter]
        requestAuthorizationWithOptions:options
                      completionHandler:^(BOOL granted, NSError *error) {
                        if (error != nil) {
                            NSLog(@"boxside: notifications were not asked for: %@", error);
                        }
                      }];
}

@end
